package serve

import (
	"bytes"
	"cmp"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/biquad"
	"toneplumb/match/document"
	"toneplumb/match/probe"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/testkit"
)

// prints are the probe through an equaliser whose bells are as the cookbook has them.
func prints(t testing.TB, v *visit) (files map[string][]byte) {
	t.Helper()
	files = map[string][]byte{}
	for _, p := range probe.Plan()[:4] {
		const rate = 48000
		x := probe.Probe{RateHz: rate}.Sound(rate)
		if !p.Flat {
			biquad.NewCascade([]biquad.Filter{{Shape: p.Shape, FreqHz: p.FreqHz, GainDB: p.GainDB, Q: p.Width}}, rate, 1).Run([][]float64{x})
		}
		path := filepath.Join(t.TempDir(), "print.wav")
		out, err := audio.CreateWAV(path, rate, 1, audio.PCM24)
		if err != nil {
			t.Fatal(err)
		}
		if err := cmp.Or(out.Write([][]float64{x}), out.Close()); err != nil {
			t.Fatal(err)
		}
		if files[fmt.Sprintf("print-%d.wav", p.Number)], err = os.ReadFile(path); err != nil {
			t.Fatal(err)
		}
	}
	return files
}

// An equaliser is learnt from prints of the probe that the page hands out.
func TestLearnEqualiser(t *testing.T) {
	testkit.Skip(t, "reads prints")
	v := enter(t)
	var wav bytes.Buffer
	if code := v.ask("GET", "/probe?rate=48000", nil, &wav); code != http.StatusOK || !bytes.HasPrefix(wav.Bytes(), []byte("RIFF")) {
		t.Fatalf("the probe is answered with %d, %.20q", code, wav.Bytes())
	}
	var ids []string
	for name, raw := range prints(t, v) {
		id := v.drop(name, raw)
		if s := v.measured(id); s.State != ready {
			t.Fatalf("%s is %+v", name, s)
		}
		ids = append(ids, id)
	}
	ask := with(with(usual(""), "prints", ids), "probe_hz", 48000)
	got := v.task("equaliser", ask)
	if got.Outcome == nil || len(got.Outcome.Files) != 1 {
		t.Fatalf("learnt is %+v %+v", got, got.Trouble)
	}
	for _, row := range got.Outcome.Blocks[0].Rows { // all that heads it in a narrow window
		if !strings.HasPrefix(row[0], "print ") {
			t.Errorf("a row is headed %q", row[0])
		}
	}
	if e, err := document.ParseEqualiser(got.Outcome.Equaliser); err != nil || e.Limits(biquad.Bell).Count == 0 {
		t.Errorf("the description is %s, %v", got.Outcome.Equaliser, err)
	}
	if got := v.task("equaliser", with(ask, "prints", append(ids, ids[0]))); got.Trouble == nil || strings.Contains(got.Trouble.What+got.Trouble.Hint, v.server.folder) {
		t.Errorf("a print given twice: %+v", got)
	}
}

// A print that cannot be used is called by the name it was dropped with, and by nothing of the server's.
func TestPrintsByName(t *testing.T) {
	v := enter(t)
	for name, raw := range map[string][]byte{"flat.wav": sound(t, 5, 1), "print-2.wav": sound(t, 5, 1)} {
		id := v.drop(name, raw)
		v.measured(id)
		got := v.task("equaliser", with(with(usual(""), "prints", []string{id}), "probe_hz", 48000))
		if got.Trouble == nil || !strings.HasPrefix(got.Trouble.What, fmt.Sprintf("%q", name)) {
			t.Errorf("%s: %+v", name, got.Trouble)
		}
	}
}
