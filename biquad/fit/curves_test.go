package fit

import (
	"bufio"
	"os"
	"strconv"
	"strings"
	"testing"

	"toneplumb/spectrum"
)

// broad is the default equaliser with bells as broad as the test curves were made of.
func broad() Equaliser {
	e := Default()
	e.Bell.Width.Min = 0.3
	return e
}

// problem returns a problem on the test grid at 44.1 kHz with a broad equaliser and third-octave smoothing: every second band from 40 Hz to 16 kHz is
// judged unless it is left out.
func problem(targetDB []float64, leftOut []bool) Problem {
	p := Problem{FreqHz: spectrum.Centres(), TargetDB: targetDB, Smoother: spectrum.NewSmoother(leftOut, 1.0/3), RateHz: 44100, Equaliser: broad()}
	p.Weight = make([]float64, len(p.FreqHz))
	for i, f := range p.FreqHz {
		if f > 40 && f < 16000 && i%2 == 0 && !leftOut[i] {
			p.Weight[i] = 1
		}
	}
	return p
}

type curve struct {
	name string
	Problem
}

// songCurves reads testdata/curves.txt; make_curves.py beside it says what it is.
func songCurves(t testing.TB) []curve {
	t.Helper()
	file, err := os.Open("testdata/curves.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var curves []curve
	for lines := bufio.NewScanner(file); lines.Scan(); {
		name, values, ok := strings.Cut(lines.Text(), ":")
		if strings.HasPrefix(name, "#") {
			continue
		}
		words := strings.Fields(values)
		if !ok || len(words) != len(spectrum.Centres()) {
			t.Fatalf("%s: %d values", name, len(words))
		}
		target, leftOut := make([]float64, len(words)), make([]bool, len(words))
		for i, word := range words {
			if word == "-" {
				leftOut[i] = true
			} else if target[i], err = strconv.ParseFloat(word, 64); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
		}
		curves = append(curves, curve{name, problem(target, leftOut)})
	}
	return curves
}
