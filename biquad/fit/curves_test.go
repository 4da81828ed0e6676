package fit

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// gridHz returns the 240 band centres 1000·10^((2k+1)/160) Hz, k = −136…103.
func gridHz() []float64 {
	freqHz := make([]float64, 240)
	for i := range freqHz {
		freqHz[i] = 1000 * math.Pow(10, float64(2*(i-136)+1)/160)
	}
	return freqHz
}

// smoother is a running mean over n bands, weights 1 and half at both ends, that
// shrinks to the distance of the nearest edge or left-out band.
type smoother struct {
	half []int // bands to either side; 0 leaves the band as it is
	sum  []float64
}

func newSmoother(leftOut []bool, n int) *smoother {
	bands := len(leftOut)
	s := &smoother{half: make([]int, bands), sum: make([]float64, bands+1)}
	for i := range s.half {
		for h := 1; h <= n/2 && !leftOut[i]; h++ {
			if i-h < 0 || i+h >= bands || leftOut[i-h] || leftOut[i+h] {
				break
			}
			s.half[i] = h
		}
	}
	return s
}

func (s *smoother) Smooth(dst, db []float64) []float64 {
	for i, x := range db {
		s.sum[i+1] = s.sum[i] + x
	}
	for i, h := range s.half {
		if h == 0 {
			dst[i] = db[i]
			continue
		}
		inner := s.sum[i+h] - s.sum[i-h+1]
		dst[i] = (inner + (db[i-h]+db[i+h])/2) / float64(2*h)
	}
	return dst
}

// broad is the default equaliser with bells as broad as the test curves were made of.
func broad() Equaliser {
	e := Default()
	e.Bell.Width.Min = 0.3
	return e
}

// problem returns a problem on the test grid at 44.1 kHz with a broad equaliser and third-octave smoothing: every second band from 40 Hz to 16 kHz is
// judged unless it is left out.
func problem(targetDB []float64, leftOut []bool) Problem {
	p := Problem{FreqHz: gridHz(), TargetDB: targetDB, Smoother: newSmoother(leftOut, 8), RateHz: 44100, Equaliser: broad()}
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
		if !ok || len(words) != len(gridHz()) {
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
