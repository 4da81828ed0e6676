package probe

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"toneplumb/biquad"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/testkit"
)

// session is a probe as it lies in a session: at the session's rate, later by a part of
// a frame. Filters and delays may change places, so one of them serves many prints.
type session struct {
	rateHz int
	probe  []float64
	file   string // the same as a WAV file
}

// newSession brings a probe into a session, through sox where that has another rate.
func newSession(t *testing.T, dir string, p Probe, rateHz int, frames float64) session {
	t.Helper()
	s := session{rateHz, shifted(p.Sound(p.RateHz), frames), filepath.Join(dir, fmt.Sprintf("probe-%d-%d-%.3f.wav", p.RateHz, rateHz, frames))}
	writeWAV(t, s.file, p.RateHz, s.probe)
	if p.RateHz != rateHz {
		out := s.file + ".there.wav"
		run(t, "sox", "-D", s.file, "-e", "floating-point", "-b", "32", out, "rate", "-v", strconv.Itoa(rateHz))
		s.file, s.probe = out, readWAV(t, out)
	}
	return s
}

// sound prints the probe through a setting.
func (u unit) sound(t *testing.T, in session, s Setting) []float64 {
	t.Helper()
	out := filepath.Join(filepath.Dir(in.file), "out.wav")
	switch {
	case u.sox != nil:
		run(t, "sox", append([]string{"-D", in.file, "-e", "floating-point", "-b", "32", out}, u.sox(s)...)...)
		return readWAV(t, out)
	case u.ffmpeg != nil:
		run(t, "ffmpeg", "-v", "error", "-nostdin", "-y", "-i", in.file, "-af", u.ffmpeg(s), "-c:a", "pcm_f32le", out)
		return readWAV(t, out)
	case u.own != nil:
		x := append([]float64(nil), in.probe...)
		biquad.NewCascadeOf(u.own(s, float64(in.rateHz)), 1).Run([][]float64{x})
		return x
	}
	return analogue(in.probe, u.exact(s), float64(in.rateHz))
}

// Of 60 conventions 57 are found right, and every response within 0.05 dB. Our choice: 19 of
// 20, and a tenth of a gain's 0.5 dB step. Every print is later by a part of a frame, half
// of them turned over, each at another level, in noise of −80 dBFS; a third of the sessions
// has another rate than the probe. Without TONEPLUMB_LONG every fifth case is looked at.
func TestConventions(t *testing.T) {
	testkit.Skip(t, "prints of sox and ffmpeg")
	testkit.Tool(t, "sox")
	testkit.Tool(t, "ffmpeg")
	const cases, mostWrong = 60, 3
	every := 5
	if os.Getenv("TONEPLUMB_LONG") != "" {
		every = 1
	}
	dir := t.TempDir()
	units := units()
	right, tried := 0, 0
	var worstDB float64
	readers := map[int]*Reader{44100: {Probe: Probe{44100}}, 48000: {Probe: Probe{48000}}}
	sessions := map[[2]int][]session{} // by the rates of probe and session: two delays each
	noise := noisy(make([]float64, 2*48000*int(ProbeSec+1)), -80, 10)
	for n := 0; n < cases; n += every {
		u := units[n%len(units)]
		rng := rand.New(rand.NewPCG(uint64(n), 10))
		rates := [2]int{48000, 48000}
		switch n / len(units) {
		case 1:
			rates = [2]int{44100, 44100}
		case 2:
			rates = [2]int{44100, 48000}
		}
		reader := readers[rates[0]]
		if sessions[rates] == nil {
			for range 2 {
				sessions[rates] = append(sessions[rates], newSession(t, dir, reader.Probe, rates[1], 3+rng.Float64()))
			}
		}
		turned := 1.0
		if n%2 == 1 {
			turned = -1
		}
		var settings []*Measured
		level := map[int]float64{}
		for _, p := range u.prints(rng) {
			db := math.Round(rng.Float64()*12) - 6
			level[p.Number] = db
			y := times(u.sound(t, sessions[rates][p.Number%2], p), turned*math.Pow(10, db/20))
			from := rng.IntN(len(noise) - len(y))
			for i := range y {
				y[i] += noise[from+i]
			}
			got, err := reader.Read([][]float64{y}, rates[1])
			if err != nil {
				t.Fatalf("case %d, %s: %+v: %v", n, u.name, p, err)
			}
			if got.Inverted != (turned < 0) {
				t.Errorf("case %d, %s: turned over: %v", n, u.name, got.Inverted)
			}
			settings = append(settings, &Measured{Setting: p, Response: got, File: strconv.Itoa(p.Number)})
		}
		e, err := Learn(settings)
		if err != nil {
			t.Fatal(err)
		}
		tried++
		over := max(u.over, 1)
		got := e.Terms[u.shape]
		same := got.Stated == u.want.Stated && got.KeptNearTop == u.want.KeptNearTop && got.WidthInHz == u.want.WidthInHz &&
			math.Abs(got.FixedWidth-u.want.FixedWidth) <= 0.02*u.want.FixedWidth && e.Oversampling == over
		if same {
			right++
		} else {
			t.Logf("case %d, %s: %+v over %g, want %+v; rest %.4f dB", n, u.name, got, e.Oversampling, u.want, e.RestDB[u.shape])
		}
		for _, s := range settings {
			f, _ := u.want.Filter(s.Setting, float64(rates[1]))
			db, hz := worst(s.Response, []biquad.Filter{f}, over*float64(rates[1]), level[s.Number])
			worstDB = math.Max(worstDB, math.Abs(db))
			if math.Abs(db) > responseDB {
				t.Errorf("case %d, %s, %+v: %+.3f dB at %.0f Hz", n, u.name, s.Setting, db, hz)
			}
		}
	}
	t.Logf("%d of %d right; responses within %.3f dB", right, tried, worstDB)
	if tried-right > mostWrong {
		t.Errorf("%d of %d right, want all but %d", right, tried, mostWrong)
	}
}

func writeWAV(t *testing.T, path string, rateHz int, x ...[]float64) {
	t.Helper()
	w, err := audio.CreateWAV(path, rateHz, len(x), audio.Float32)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(w.Write(x), w.Close()); err != nil {
		t.Fatal(err)
	}
}

func readWAV(t *testing.T, path string) []float64 {
	t.Helper()
	src, err := audio.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer src.Close()
	var x []float64
	block := audio.NewBlock(src.Format().Channels, 1<<16)
	for {
		n, err := src.Read(block)
		if err == io.EOF {
			return x
		}
		if err != nil {
			t.Fatal(err)
		}
		x = append(x, block[0][:n]...)
	}
}
