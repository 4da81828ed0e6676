package class

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/testkit"
)

// invented is the table of a minute of falling noise with a high shelf.
func invented(seed uint64, shelfDB float64) *measure.Recording {
	const rows = 60
	rng := rand.New(rand.NewPCG(seed, 3))
	shelf := biquad.ResponseDB(nil, []biquad.Filter{{Shape: biquad.HighShelf, FreqHz: 4000, GainDB: shelfDB, Q: 0.7}}, spectrum.Centres(), 44100)
	r := &measure.Recording{Format: audio.Format{RateHz: 44100, Channels: 2, Encoding: "16 bit"}, DurationSec: rows, RowSec: 1, Rows: rows, LoudnessLUFS: -18}
	for range rows {
		loud := -40 + 6*rng.Float64()
		for b := range shelf {
			db := loud - 3*math.Log2(spectrum.CentreHz(b)/100) + shelf[b] + rng.NormFloat64()
			r.Power = append(r.Power, float32(spectrum.DBToPower(db)))
			r.Width = append(r.Width, measure.WidthOf(5, 1))
		}
		r.Gate = append(r.Gate, 1)
	}
	return r
}

// files are what a path holds, by its name; the rest cannot be read.
var files = map[string]*measure.Recording{
	"mix 2.wav":  invented(1, 0),
	"mix 10.wav": invented(2, 18),
	"=1+1.wav":   invented(3, -1),
	"Zoë <b>&amp; \"Søn\"<b>, eine Abmischung mit langem Namen 東京の夜.wav": invented(4, -16),
}

// then are earlier bounces, by their paths.
var then = map[string]*measure.Recording{
	"then/mix 2.wav":   invented(1, 0),
	"then/mix 10.flac": invented(2, 24),
	"then/left.wav":    invented(5, 0),
}

func jobOf(plain bool) Job {
	references := []*measure.Recording{invented(11, 1), invented(12, -1), invented(13, 0)}
	for i, r := range references {
		r.Name = fmt.Sprintf("ref %d.flac", i+1)
	}
	var mixes []string
	for name := range files { // their order is not to matter
		mixes = append(mixes, "in/"+name)
	}
	return Job{
		Mixes: append(mixes, "in/gone.wav"), Before: []string{"then/mix 10.flac", "then/mix 2.wav", "then/=1+1.wav", "then/left.wav"}, References: references, Plain: plain,
		Judge: func(mix, before *measure.Recording, references []*measure.Recording) (*match.Result, *match.Check, error) {
			c, err := match.Compare(mix, references, match.DefaultCompare())
			if err != nil {
				return nil, nil, err
			}
			k := c.Verdict(0)
			if before != nil {
				then, err := match.Compare(before, references, match.DefaultCompare())
				if err != nil {
					return nil, nil, err
				}
				k.SetBefore(then)
			}
			return c.Solve(match.DefaultSolve()), k, nil
		},
		Measure: func(ctx context.Context, path string) (*measure.Recording, error) {
			r := files[filepath.Base(path)]
			if strings.HasPrefix(path, "then/") {
				r = then[path]
			}
			if r != nil {
				named := *r
				named.Name = filepath.Base(path)
				return &named, nil
			}
			return nil, &audio.Error{Path: path, Problem: "@is a letter, not a recording"}
		},
	}
}

// tables are those with names and without.
var tables = map[bool]func() (*Table, error){
	false: sync.OnceValues(func() (*Table, error) { return Run(context.Background(), jobOf(false)) }),
	true:  sync.OnceValues(func() (*Table, error) { return Run(context.Background(), jobOf(true)) }),
}

// tableOf is one of them, its rows the caller's own.
func tableOf(t *testing.T, plain bool) *Table {
	t.Helper()
	table, err := tables[plain]()
	if err != nil {
		t.Fatal(err)
	}
	own := *table
	own.Rows = slices.Clone(own.Rows)
	return &own
}

// What is written of one table, in full. CSV and JSON are read by others.
func TestGolden(t *testing.T) {
	byDistance := tableOf(t, false)
	byDistance.ByDistance()
	for _, c := range []struct {
		file  string
		write func(*bytes.Buffer) error
	}{
		{"table.txt", func(w *bytes.Buffer) error { return Text(w, tableOf(t, false)) }},
		{"by_distance.txt", func(w *bytes.Buffer) error { return Text(w, byDistance) }},
		{"plain.txt", func(w *bytes.Buffer) error { return Text(w, tableOf(t, true)) }},
		{"aloud.txt", func(w *bytes.Buffer) error { return TextAloud(w, tableOf(t, false)) }},
		{"table.csv", func(w *bytes.Buffer) error { return CSV(w, tableOf(t, false), false) }},
		{"comma.csv", func(w *bytes.Buffer) error { return CSV(w, tableOf(t, false), true) }},
		{"table.json", func(w *bytes.Buffer) error { return JSON(w, tableOf(t, false)) }},
		{"table.html", func(w *bytes.Buffer) error { return Overview(w, tableOf(t, false)) }},
	} {
		var got bytes.Buffer
		if err := c.write(&got); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join("testdata", c.file)
		testkit.Golden(t, file, got.Bytes())
	}
}

// The number of processors does not matter.
func TestSameBytes(t *testing.T) {
	document := func(procs int) string {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(procs))
		table, err := Run(context.Background(), jobOf(false))
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := JSON(&b, table); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	if document(1) != document(7) {
		t.Error("the table depends on the number of processors")
	}
}

func TestColumns(t *testing.T) {
	var b bytes.Buffer
	if err := Text(&b, tableOf(t, false)); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(b.String()) {
		line = strings.TrimSuffix(line, "\n")
		if report.Shorten(line, report.Columns) != line || strings.TrimRight(line, " ") != line {
			t.Errorf("%q", line)
		}
	}
}

// Without names none is anywhere.
func TestPlain(t *testing.T) {
	table := tableOf(t, true)
	for name, write := range map[string]func(*bytes.Buffer) error{
		"text":  func(w *bytes.Buffer) error { return Text(w, table) },
		"aloud": func(w *bytes.Buffer) error { return TextAloud(w, table) },
		"csv":   func(w *bytes.Buffer) error { return CSV(w, table, false) },
		"json":  func(w *bytes.Buffer) error { return JSON(w, table) },
		"html":  func(w *bytes.Buffer) error { return Overview(w, table) },
	} {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			t.Fatal(err)
		}
		for _, hidden := range []string{"gone.wav", "Zoë", ".flac", "house", "in/", "left.wav", "then/"} {
			if strings.Contains(b.String(), hidden) {
				t.Errorf("%s: has %q", name, hidden)
			}
		}
	}
	for i, row := range Wall(table, false).Rows {
		if !strings.HasPrefix(row.Name, "mix ") {
			t.Errorf("row %d on the wall is %q", i+1, row.Name)
		}
	}
}

// A zone that is near enough only by a wide tolerance is marked, on the page and aloud too.
func TestWideToleranceIsMarked(t *testing.T) {
	table := tableOf(t, false)
	row := &table.Rows[0]
	row.Zones = slices.Clone(row.Zones)
	z := &row.Zones[6]
	z.Verdict, z.Why, z.DifferenceDB, z.UsualDB, z.ToleranceDB = match.NearEnough, match.NoDoubt, -8, 8.3, 12
	for want, write := range map[string]func(io.Writer, *Table) error{"air 8.0~": Text, ">8.0 over~<": Overview, "8.0 over (near enough by a wide tolerance alone)": TextAloud} {
		var b bytes.Buffer
		if err := write(&b, table); err != nil || !strings.Contains(b.String(), want) {
			t.Errorf("no %q, %v", want, err)
		}
	}
}

// What is left out has no tolerance, for nothing is held against it.
func TestLeftOutZoneHasNoTolerance(t *testing.T) {
	table := tableOf(t, false)
	row := &table.Rows[0]
	row.Zones = slices.Clone(row.Zones)
	z := &row.Zones[6]
	z.Verdict, z.Why, z.DifferenceDB, z.LowDB, z.HighDB, z.ToleranceDB = match.CannotTell, match.LeftOutZone, math.NaN(), math.NaN(), math.NaN(), math.NaN()
	var b, j bytes.Buffer
	if err := errors.Join(CSV(&b, table, false), JSON(&j, table)); err != nil {
		t.Fatal(err)
	}
	cells, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	zones := 0
	for i, name := range cells[0] {
		if strings.HasSuffix(name, "_tolerance_db") {
			if got := cells[1][i]; (got == "") != (zones == 6) {
				t.Errorf("%s is %q", name, got)
			}
			zones++
		}
	}
	var d struct {
		Mixes []struct {
			Zones []struct {
				ToleranceDB *float64 `json:"tolerance_db"`
			}
		}
	}
	if err := json.Unmarshal(j.Bytes(), &d); err != nil {
		t.Fatal(err)
	}
	for i, z := range d.Mixes[0].Zones {
		if (z.ToleranceDB == nil) != (i == 6) {
			t.Errorf("zone %d: a tolerance of %v", i, z.ToleranceDB)
		}
	}
}

func TestKeep(t *testing.T) {
	job := jobOf(false)
	failed := errors.New("the disk is full")
	job.Keep = func(*Row, *match.Result) error { return failed }
	if _, err := Run(context.Background(), job); !errors.Is(err, failed) {
		t.Errorf("error %v, want %v", err, failed)
	}
	ctx, cancel := context.WithCancel(context.Background())
	job = jobOf(false)
	measured := job.Measure
	job.Measure = func(ctx context.Context, path string) (*measure.Recording, error) {
		cancel()
		return measured(ctx, path)
	}
	if _, err := Run(ctx, job); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want %v", err, context.Canceled)
	}
}
