package cli

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/testkit"
)

// Mid and side are put in with known powers; what comes out is their ratio in every
// zone, or the word for it.
func TestWidths(t *testing.T) {
	testkit.Skip(t, "measures a minute and a half of noise")
	const rate, seconds = 48000, 20
	const toleranceDB = 0.5 // 20 s of noise, narrowest zone of one octave: 2·sqrt(2/(20·30)) of the power
	for _, c := range []struct {
		name      string
		mid, side float64 // amplitudes
		want      float64
		word      string
	}{
		{"wide", 0.1, 0.1, 0, ""},
		{"usual", 0.1, 0.02, 13.98, ""},
		{"out of phase", 0.02, 0.1, -13.98, ""},
		{"two alike", 0.1, 0, 0, "mono"},
		{"one against the other", 0, 0.1, 0, "opposite"},
	} {
		path := filepath.Join(t.TempDir(), "a.wav")
		w, err := audio.CreateWAV(path, rate, 2, audio.Float32)
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(1, 2))
		block := audio.NewBlock(2, rate*seconds)
		for i := range block[0] {
			m, s := c.mid*rng.NormFloat64(), c.side*rng.NormFloat64()
			block[0][i], block[1][i] = m+s, m-s
		}
		if err := w.Write(block); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		stereo := measured(t, path).Stereo()
		document := ran(t, "measure", path, "--json")
		for _, z := range match.Zones() {
			got := stereo.MidOverSideDB(z.LowHz, z.HighHz)
			switch {
			case c.word != "" && (report.WidthWords(got) != c.word || !strings.Contains(document, `"zone": "`+z.Name+"\",\n     \"mid_over_side_db\": null,\n     \"is\": \""+c.word)):
				t.Errorf("%s, %s: %q (%g dB), want %q", c.name, z.Name, report.WidthWords(got), got, c.word)
			case c.word == "" && !(math.Abs(got-c.want) <= toleranceDB):
				t.Errorf("%s, %s: %.2f dB, want %.2f ± %g", c.name, z.Name, got, c.want, toleranceDB)
			}
		}
	}
}

// A recording of one channel is mono; a zone above half its rate is not there.
func TestMeasuredMono(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mono.wav")
	phrases(t, path, 8000, 1, audio.PCM16, 5)
	text := ran(t, "measure", path)
	for _, want := range []string{"8 kHz mono, 16-bit PCM", "  mids                       mono\n", "  highs                         –\n", "  all                        mono\n"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in:\n%s", want, text)
		}
	}
}

// The document's figures are the table's; levels are of full scale.
func TestMeasuredJSON(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "surround.wav")
	phrases(t, path, 48000, 6, audio.PCM24, 5)
	var d struct {
		Version    int
		Recordings []struct {
			File, Samples  string
			Rate_Hz        int
			Channels       int
			Duration_S     float64
			Part_S         [2]float64
			Loudness_LUFS  float64
			Loudness_Range *float64 `json:"loudness_range_lu"`
			True_Peak_DBTP float64
			Momentary      float64 `json:"momentary_max_lufs"`
			ShortTerm      float64 `json:"short_term_max_lufs"`
			PeakToLoudness float64 `json:"peak_to_loudness_db"`
			Cutoff_Hz      *float64
			Widths         []map[string]any
			Bands          []struct{ Freq_Hz, Level_DB *float64 }
			Warnings       []struct{ Code, Severity, Text string }
		}
	}
	if err := json.Unmarshal([]byte(ran(t, "measure", path, "--json")), &d); err != nil {
		t.Fatal(err)
	}
	if d.Version != 2 || len(d.Recordings) != 1 {
		t.Fatalf("version %d, %d recordings", d.Version, len(d.Recordings))
	}
	r, want := d.Recordings[0], measured(t, path)
	const rounding = 1e-4
	for _, f := range []struct {
		name      string
		got, want float64
	}{
		{"loudness", r.Loudness_LUFS, want.WholeLUFS}, {"range", *r.Loudness_Range, want.RangeLU}, {"true peak", r.True_Peak_DBTP, want.TruePeakDBTP},
		{"momentary", r.Momentary, want.MomentaryMaxLUFS}, {"short-term", r.ShortTerm, want.ShortTermMaxLUFS},
		{"peak to loudness", r.PeakToLoudness, want.TruePeakDBTP - want.WholeLUFS}, {"duration", r.Duration_S, 5}, {"part", r.Part_S[1], 5},
	} {
		if math.Abs(f.got-f.want) > rounding {
			t.Errorf("%s: %g, want %g", f.name, f.got, f.want)
		}
	}
	if r.File != filepath.Base(path) || r.Rate_Hz != 48000 || r.Channels != 6 || r.Samples != "24-bit PCM" || r.Cutoff_Hz != nil || len(r.Widths) != 8 || len(r.Warnings) != 1 {
		t.Errorf("%+v", r)
	}
	if len(r.Bands) != spectrum.BandCount {
		t.Fatalf("%d bands", len(r.Bands))
	}
	power := want.MeanPower(want.GateWeights())
	for b, band := range r.Bands {
		if math.Abs(*band.Freq_Hz-spectrum.CentreHz(b)) > rounding || math.Abs(*band.Level_DB-spectrum.PowerToDB(power[b])) > rounding {
			t.Errorf("band %d: %g Hz, %g dB", b, *band.Freq_Hz, *band.Level_DB)
		}
	}
}
