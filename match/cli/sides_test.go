package cli

import (
	"encoding/json"
	"math"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/match"
	"toneplumb/spectrum/testkit"
)

// outside runs a program that is not ours, or skips where there is none.
func outside(t *testing.T, name string, args ...string) []byte {
	t.Helper()
	testkit.Tool(t, name)
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, out)
	}
	return out
}

// thirdsOfMidAndSide prints [[centre, mid power, side power], …] per third octave by
// scipy's Welch, whose segments are ours in length but whose windows and sums are not.
const thirdsOfMidAndSide = `
import sys, json, numpy as np
from scipy.io import wavfile
from scipy.signal import welch
rate, x = wavfile.read(sys.argv[1])
x = x.astype(float) / 2**31
f, m = welch((x[:,0]+x[:,1])/2, rate, nperseg=1<<15)
f, s = welch((x[:,0]-x[:,1])/2, rate, nperseg=1<<15)
print(json.dumps([[1000*10**(n/10), m[(f>=1000*10**((2*n-1)/20))&(f<1000*10**((2*n+1)/20))].sum(),
    s[(f>=1000*10**((2*n-1)/20))&(f<1000*10**((2*n+1)/20))].sum()] for n in range(-16, 14)]))
`

// The sides of noise are made dull by sox; width is as scipy has it, and the check says
// that the top is narrower than the reference.
func TestDullSides(t *testing.T) {
	testkit.Skip(t, "sounds and spectra of other programs")
	const toleranceDB = 0.15 // steady noise of 30 s, both by many segments; the sub has least bins
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	make := func(name string, shelf ...string) {
		outside(t, "sox", "-R", "-n", "-r", "44100", "-b", "32", at("mid.wav"), "synth", "30", "pinknoise", "vol", "0.4")
		// Another stretch of noise for the sides: -R repeats the first.
		outside(t, "sox", append([]string{"-R", "-n", "-r", "44100", "-b", "32", at("side.wav"), "synth", "62", "pinknoise", "vol", "0.2", "trim", "31", "30"}, shelf...)...)
		outside(t, "sox", "-M", at("mid.wav"), at("side.wav"), "-b", "32", at(name), "remix", "1,2", "1,2i")
	}
	make("even.wav")
	make("dull.wav", "treble", "-8", "5000", "1s")
	for _, name := range []string{"even.wav", "dull.wav"} {
		var thirds [][3]float64
		if err := json.Unmarshal(outside(t, "/usr/bin/python3", "-c", thirdsOfMidAndSide, at(name)), &thirds); err != nil {
			t.Fatal(err)
		}
		stereo := measured(t, at(name)).Stereo()
		for _, z := range match.Zones()[1:] { // scipy's thirds begin above the sub's lowest
			mid, side := 0.0, 0.0
			for _, third := range thirds {
				if third[0] > z.LowHz && third[0] < z.HighHz {
					mid, side = mid+third[1], side+third[2]
				}
			}
			got, want := stereo.MidOverSideDB(z.LowHz, z.HighHz), 10*math.Log10(mid/side)
			if math.Abs(got-want) > toleranceDB {
				t.Errorf("%s, %s: mid %.3f dB over side, scipy has %.3f", name, z.Name, got, want)
			}
		}
	}
	text := strings.Join(strings.Fields(ran(t, "check", at("dull.wav"), at("even.wav"))), " ")
	if want := "Narrower than the reference: highs and air ("; !strings.Contains(text, want) {
		t.Errorf("no %q in %s", want, text)
	}
}
