package serve

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/spectrum/audio"
)

// visit is a running server and a browser that was let in.
type visit struct {
	t      testing.TB
	server *Server
	client *http.Client
	origin string
	home   string // where the page is
	faults *bytes.Buffer
	stop   func() // as Ctrl-C; returns when Run has
}

// start starts a server whose temporary folder is the test's own.
func start(t testing.TB) *visit {
	t.Helper()
	return startAt(t, 0)
}

func startAt(t testing.TB, port int) *visit {
	t.Helper()
	t.Setenv("TMPDIR", t.TempDir())
	ctx, cancel := context.WithCancel(context.Background())
	faults := &bytes.Buffer{}
	s, err := New(ctx, port, faults)
	if err != nil {
		t.Fatal(err)
	}
	watch := &wordWatch{Handler: s.http.Handler}
	s.http.Handler = watch
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	jar, _ := cookiejar.New(nil)
	v := &visit{t: t, server: s, faults: faults, client: &http.Client{Jar: jar, Transport: &http.Transport{}}, origin: "http://" + s.guard.address}
	v.home = v.origin + strings.TrimSuffix(s.guard.home, "/")
	stopped := false
	v.stop = func() {
		if stopped {
			return
		}
		stopped = true
		cancel()
		if err := <-ended; err != nil {
			t.Errorf("the server ended with %v", err)
		}
		v.client.CloseIdleConnections()
		for _, text := range watch.found {
			t.Errorf("the page speaks of the command line: %s", text)
		}
	}
	t.Cleanup(v.stop)
	return v
}

// enter starts a server and uses its token.
func enter(t testing.TB) *visit {
	t.Helper()
	v := start(t)
	if got := v.enter(); got != http.StatusOK {
		t.Fatalf("the entrance answers %d", got)
	}
	return v
}

// enter goes to the address that was printed.
func (v *visit) enter() int {
	v.t.Helper()
	response, err := v.client.Get(v.server.URL())
	if err != nil {
		v.t.Fatal(err)
	}
	response.Body.Close()
	return response.StatusCode
}

// cookie is what the browser has to show at the page.
func (v *visit) cookie() *http.Cookie {
	at, _ := url.Parse(v.home + "/")
	return v.client.Jar.Cookies(at)[0]
}

// ask sends a request as our own page would, to a path below the page's, and reads the
// answer as JSON into `into`, or as it is into a *bytes.Buffer.
func (v *visit) ask(method, path string, body io.Reader, into any) int {
	v.t.Helper()
	request, err := http.NewRequest(method, v.home+path, body)
	if err != nil {
		v.t.Fatal(err)
	}
	request.Header.Set("Origin", v.origin)
	response, err := v.client.Do(request)
	if err != nil {
		v.t.Fatalf("%s %s: %v", method, path, err)
	}
	defer response.Body.Close()
	raw, err := io.ReadAll(response.Body)
	if err != nil {
		v.t.Fatalf("%s %s: %v", method, path, err)
	}
	switch goal := into.(type) {
	case nil:
	case *bytes.Buffer:
		goal.Write(raw)
	default:
		if err := json.Unmarshal(raw, into); err != nil {
			v.t.Fatalf("%s %s: %v in %.300q", method, path, err, raw)
		}
	}
	return response.StatusCode
}

// post sends a document.
func (v *visit) post(path string, document, into any) int {
	v.t.Helper()
	raw, err := json.Marshal(document)
	if err != nil {
		v.t.Fatal(err)
	}
	return v.ask("POST", path, bytes.NewReader(raw), into)
}

// drop uploads a file and returns its id.
func (v *visit) drop(name string, content []byte) string {
	v.t.Helper()
	var d struct{ ID string }
	if got := v.ask("POST", "/recordings?name="+url.QueryEscape(name), bytes.NewReader(content), &d); got != http.StatusCreated {
		v.t.Fatalf("dropping %q is answered with %d", name, got)
	}
	return d.ID
}

// measured waits until a recording is measured, or cannot be.
func (v *visit) measured(id string) recordingState {
	v.t.Helper()
	for end := time.Now().Add(time.Minute); ; time.Sleep(5 * time.Millisecond) {
		var state recordingState
		if got := v.ask("GET", "/recordings/"+id, nil, &state); got != http.StatusOK {
			v.t.Fatalf("asking for a recording is answered with %d", got)
		}
		if state.State == ready || state.State == failed {
			return state
		}
		if time.Now().After(end) {
			v.t.Fatalf("still %s after a minute", state.State)
		}
	}
}

// usual is an ask with the command line's defaults.
func usual(mix string, references ...string) map[string]any {
	return map[string]any{"mix": mix, "references": references, "smooth_oct": 0.3333, "range_hz": []float64{40, 16000}, "toward_percent": 60, "max_moves": 4}
}

// with is an ask with one field set otherwise.
func with(ask map[string]any, field string, value any) map[string]any {
	next := map[string]any{field: value}
	for k, v := range ask {
		if k != field {
			next[k] = v
		}
	}
	return next
}

// sound is a 16-bit stereo WAV of falling noise in phrases, through moves.
func sound(t testing.TB, sec int, seed uint64, moves ...biquad.Filter) []byte {
	t.Helper()
	key := fmt.Sprint(sec, seed, moves)
	if made, there := sounds.Load(key); there {
		return made.([]byte)
	}
	const rate = 44100
	path := filepath.Join(t.TempDir(), "sound.wav")
	w, err := audio.CreateWAV(path, rate, 2, audio.PCM16)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(seed, 1))
	filter := biquad.NewCascade(append([]biquad.Filter{{Shape: biquad.HighCut, FreqHz: 300, CutDBPerOct: 6}}, moves...), rate, 2)
	block := audio.NewBlock(2, rate/10)
	for range 10 * sec {
		phrase := 0.4 * (0.3 + 0.7*rng.Float64())
		for i := range block[0] {
			both := rng.NormFloat64()
			block[0][i] = phrase * (both + 0.3*rng.NormFloat64())
			block[1][i] = phrase * (both + 0.3*rng.NormFloat64())
		}
		filter.Run(block)
		if err := w.Write(block); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	sounds.Store(key, raw)
	return raw
}

// sounds were made before: making them takes longer than what is tested.
var sounds sync.Map

// asTold are the command line's defaults, so far towards the reference.
func asTold(percent float64) match.SolveOptions {
	o := match.DefaultSolve()
	o.TowardPercent = percent
	return o
}

// dull and muddy, as a rough mix may be beside its reference.
var faults = []biquad.Filter{
	{Shape: biquad.Bell, FreqHz: 300, GainDB: 4, Q: 0.8},
	{Shape: biquad.HighShelf, FreqHz: 5000, GainDB: -5, Q: math.Sqrt2 / 2},
}
