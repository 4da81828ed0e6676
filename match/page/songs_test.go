package page

import (
	"bytes"
	"context"
	"encoding/base64"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"sync"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// song writes falling noise in phrases, through filters, and returns its path.
func song(t testing.TB, name string, rateHz, channels int, sec, level float64, seed uint64, filters ...biquad.Filter) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	w, err := audio.CreateWAV(path, rateHz, channels, audio.PCM24)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(seed, 1))
	tone := biquad.NewCascade(append([]biquad.Filter{{Shape: biquad.HighCut, FreqHz: 300, CutDBPerOct: 6}}, filters...), float64(rateHz), channels)
	block := audio.NewBlock(channels, rateHz/10)
	for range int(sec * 10) {
		phrase := level * (0.3 + 0.7*rng.Float64())
		for i := range block[0] {
			both := rng.NormFloat64()
			for c := range block {
				block[c][i] = phrase * (both + 0.3*rng.NormFloat64())
			}
		}
		tone.Run(block)
		if err := w.Write(block); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func measured(t testing.TB, path string) *measure.Recording {
	t.Helper()
	src, err := audio.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	r, err := measure.Measure(context.Background(), src, path)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func excerpt(t testing.TB, path string, fromSec float64) *listen.Excerpt {
	t.Helper()
	src, err := audio.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	e, err := listen.Cut(context.Background(), src, fromSec, ExcerptSec)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// pair is a mix, a reference and what the page says of them.
type pair struct {
	result *match.Result
	sound  *Sound
	html   []byte
}

// Moves that the usual pair is given, whatever would be advised.
var usualMoves = []biquad.Filter{
	{Shape: biquad.LowShelf, FreqHz: 112, GainDB: 3.5, Q: 0.6},
	{Shape: biquad.Bell, FreqHz: 425, GainDB: -2.5, Q: 0.8},
	{Shape: biquad.Bell, FreqHz: 3150, GainDB: 1.5, Q: 2},
	{Shape: biquad.HighShelf, FreqHz: 8000, GainDB: 4, Q: math.Sqrt2 / 2},
}

// heardSec is how much the pages of tests hold: less than a page may, for the browser's sake.
const heardSec = 8

// newPair measures a mix and a reference of other rates and levels and writes the page.
func newPair(t testing.TB, mixName, refName string, mixRateHz, refRateHz, mixChannels int, moves []biquad.Filter) *pair {
	t.Helper()
	mixPath := song(t, mixName, mixRateHz, mixChannels, 40, 0.3, 1)
	refPath := song(t, refName, refRateHz, 2, 36, 0.6, 2, biquad.Filter{Shape: biquad.HighShelf, FreqHz: 2000, GainDB: 4, Q: 0.7})
	mix, ref := measured(t, mixPath), measured(t, refPath)
	c, err := match.Compare(mix, []*measure.Recording{ref}, match.DefaultCompare())
	if err != nil {
		t.Fatal(err)
	}
	p := &pair{result: c.With(moves, match.DefaultSolve())}
	p.sound = &Sound{
		Mix: excerpt(t, mixPath, listen.Loudest(mix, ExcerptSec)), Reference: excerpt(t, refPath, listen.Loudest(ref, ExcerptSec)),
		Notes: []string{"8 s of the reference's sound are in this page."},
	}
	p.sound.Mix, p.sound.Reference = p.sound.Mix.First(heardSec), p.sound.Reference.First(heardSec)
	p.html = written(t, p.result, p.sound)
	return p
}

func written(t testing.TB, r *match.Result, s *Sound) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := Write(context.Background(), &out, r, s); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// usual is the pair of most tests, made once.
var usual = func() func(t testing.TB) *pair {
	var once sync.Once
	var p *pair
	return func(t testing.TB) *pair {
		once.Do(func() { p = newPair(t, "rough mix.wav", "reference.wav", 44100, 48000, 2, usualMoves) })
		if p == nil {
			t.Fatal("the pair could not be made")
		}
		return p
	}
}()

// stored returns the sound of an id as it is in a page.
func stored(t testing.TB, html []byte, id string) (x [][]float64, rateHz int) {
	t.Helper()
	found := regexp.MustCompile(`<script type="text/plain" id="` + id + `">([^<]*)</script>`).FindSubmatch(html)
	if found == nil {
		t.Fatalf("no %s in the page", id)
	}
	flac, err := base64.StdEncoding.DecodeString(string(found[1]))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "a.flac")
	if err := os.WriteFile(path, flac, 0o600); err != nil {
		t.Fatal(err)
	}
	src, err := audio.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	return drain(t, src), src.Format().RateHz
}

func drain(t testing.TB, src audio.Source) [][]float64 {
	t.Helper()
	x := make([][]float64, src.Format().Channels)
	block := audio.NewBlock(len(x), 1<<14)
	for {
		n, err := src.Read(block)
		if errors.Is(err, io.EOF) {
			return x
		}
		if err != nil {
			t.Fatal(err)
		}
		for c := range x {
			x[c] = append(x[c], block[c][:n]...)
		}
	}
}
