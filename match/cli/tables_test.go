package cli

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// What the tables of match/testdata hold of each song.
const (
	tableSec  = 200 // from the start
	tableStep = 2   // seconds a row: what pieces of 10 s are made of
	leastSec  = 180 // shorter recordings are no whole songs
	everySong = 2   // in the order of their sums
)

// TestWriteTables measures the songs below TONEPLUMB_SONGS, keeps their tables, no
// sound, and writes them to the file that TONEPLUMB_TABLES names: how
// match/testdata/songs.json was made.
func TestWriteTables(t *testing.T) {
	folder, out := os.Getenv("TONEPLUMB_SONGS"), os.Getenv("TONEPLUMB_TABLES")
	if folder == "" || out == "" {
		t.Skip("TONEPLUMB_SONGS and TONEPLUMB_TABLES name no folder and file")
	}
	var files []string
	err := filepath.WalkDir(folder, func(path string, d os.DirEntry, err error) error {
		if err == nil && d.Type().IsRegular() && strings.HasSuffix(path, ".ogg") {
			if info, err := d.Info(); err == nil && info.Size() > 900_000 {
				files = append(files, path)
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	entries := make([]measure.Entry, len(files))
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wait sync.WaitGroup
	for i, file := range files {
		wait.Go(func() {
			free <- struct{}{}
			defer func() { <-free }()
			entries[i] = tableOf(t, file)
		})
	}
	wait.Wait()
	slices.SortFunc(entries, func(a, b measure.Entry) int { return strings.Compare(a.SHA256, b.SHA256) })
	var kept measure.Profile
	songs := 0
	for _, e := range entries {
		if e.Recording == nil || e.Recording.DurationSec < leastSec {
			continue
		}
		if songs%everySong == 0 {
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

func tableOf(t *testing.T, file string) measure.Entry {
	raw, err := os.ReadFile(file)
	if err != nil {
		t.Error(err)
		return measure.Entry{}
	}
	src, err := audio.Open(context.Background(), file)
	if err != nil {
		t.Log(err)
		return measure.Entry{}
	}
	defer src.Close()
	r, err := measure.Measure(context.Background(), &start{Source: src, left: tableSec * src.Format().RateHz}, file)
	if err != nil {
		t.Log(err)
		return measure.Entry{}
	}
	sum := sha256.Sum256(raw)
	r.Path = packageOf(file) + " " + filepath.Base(file)
	return measure.Entry{SHA256: hex.EncodeToString(sum[:]), Recording: r}
}

// packageOf returns the package a song came in, by its folder of documentation.
func packageOf(file string) string {
	for _, name := range []string{"wesnoth", "hedgewars", "frozen-bubble", "singularity", "lincity-ng"} {
		if strings.Contains(file, name) {
			return name
		}
	}
	return "other"
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
