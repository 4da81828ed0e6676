package cli

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/profile"
)

// sample is what is kept of which songs.
type sample struct {
	leastSec float64 // shorter recordings are left out
	tableSec int     // from the start
	every    int     // of the songs in the order of their sums
}

var (
	allWhole = sample{leastSec: 110, tableSec: math.MaxInt32 / 192000, every: 1}
	testdata = sample{leastSec: 180, tableSec: 200, every: 2} // match/testdata/songs.json, small enough to keep
)

const tableStep = 2 // seconds a row: what pieces of 10 s are made of

// TestWriteTables measures the songs below TONEPLUMB_SONGS, which lie in folders
// package/maker, keeps their tables, no sound, and writes them to the file that
// TONEPLUMB_TABLES names: whole songs, which TestAdvice reads from there, or with
// TONEPLUMB_FEW those for match/testdata.
func TestWriteTables(t *testing.T) {
	folder, out := os.Getenv("TONEPLUMB_SONGS"), os.Getenv("TONEPLUMB_TABLES")
	if folder == "" || out == "" {
		t.Skip("TONEPLUMB_SONGS and TONEPLUMB_TABLES name no folder and file")
	}
	of := allWhole
	if os.Getenv("TONEPLUMB_FEW") != "" {
		of = testdata
	}
	var files []string
	err := filepath.WalkDir(folder, func(file string, d os.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() && slices.Contains([]string{".ogg", ".mp3", ".flac"}, filepath.Ext(file)) {
			if info, err := d.Info(); err == nil && info.Size() > 900_000 {
				files = append(files, file)
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	entries := make([]profile.Entry, len(files))
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wait sync.WaitGroup
	for i, file := range files {
		wait.Go(func() {
			free <- struct{}{}
			defer func() { <-free }()
			entries[i] = of.table(t, folder, file)
		})
	}
	wait.Wait()
	slices.SortFunc(entries, func(a, b profile.Entry) int { return strings.Compare(a.SHA256, b.SHA256) })
	var kept profile.Profile
	songs := 0
	for _, e := range entries {
		if e.Recording == nil || e.Recording.DurationSec < of.leastSec {
			continue
		}
		if songs%of.every == 0 {
			kept = append(kept, e)
		}
		songs++
	}
	var document bytes.Buffer
	if err := kept.Write(&document, tableStep); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(out, document.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	t.Logf("%d of %d songs, %d bytes", len(kept), songs, document.Len())
}

func (of sample) table(t *testing.T, folder, file string) profile.Entry {
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Error(err)
		return profile.Entry{}
	}
	src, err := audio.Open(context.Background(), file)
	if err != nil {
		t.Log(err)
		return profile.Entry{}
	}
	defer src.Close()
	r, err := measure.Measure(context.Background(), &start{Source: src, left: of.tableSec * src.Format().RateHz}, file)
	if err != nil {
		t.Log(err)
		return profile.Entry{}
	}
	sum := sha256.Sum256(raw)
	below, err := filepath.Rel(folder, file)
	if err != nil {
		t.Fatal(err)
	}
	r.Name = strings.ReplaceAll(filepath.ToSlash(filepath.Dir(below)), "/", ":") + " " + filepath.Base(file)
	return profile.Entry{SHA256: hex.EncodeToString(sum[:]), Recording: r}
}

// start is the start of a source.
type start struct {
	audio.Source
	left int // frames
}

func (s *start) Read(dst [][]float64) (int, error) {
	if s.left == 0 {
		return 0, io.EOF
	}
	most := min(len(dst[0]), s.left)
	part := make([][]float64, len(dst))
	for c := range dst {
		part[c] = dst[c][:most]
	}
	n, err := s.Source.Read(part)
	s.left -= n
	return n, err
}
