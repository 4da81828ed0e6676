package serve

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"time"

	"toneplumb/spectrum/testkit"
)

// works are requests that take work: a name, and how it is asked for.
func works(v *visit, mix string, ask map[string]any) map[string]*http.Request {
	raw, err := json.Marshal(ask)
	if err != nil {
		v.t.Fatal(err)
	}
	all := map[string]*http.Request{}
	for _, path := range []string{"/result", "/player", "/alternative", "/confirm", "/export/chart.png", "/export/page.html", "/export/mix.wav", "/sounds/" + mix + "?from=0&sec=2"} {
		method := "POST"
		if strings.HasPrefix(path, "/sounds") {
			method = "GET"
		}
		request, err := http.NewRequest(method, v.home+path, bytes.NewReader(raw))
		if err != nil {
			v.t.Fatal(err)
		}
		request.Header.Set("Origin", v.origin)
		all[path] = request
	}
	return all
}

// All that takes work waits for a place, is not begun once the browser has given up, and
// is done when there is a place.
func TestPlaces(t *testing.T) {
	testkit.Skip(t, "a minute of sound")
	v := enter(t)
	mix, ref := v.drop("m.wav", sound(t, 5, 1, faults...)), v.drop("r.wav", sound(t, 5, 2))
	v.measured(mix)
	v.measured(ref)
	s := v.server
	for _, places := range []chan struct{}{s.quick.places, s.uploads.free.places} {
		for range cap(places) {
			places <- struct{}{}
		}
	}
	ask := usual(mix, ref)
	page := s.handler()
	for path, request := range works(v, mix, ask) {
		ctx, cancel := context.WithTimeout(t.Context(), time.Second/20) // any time would do
		answered := httptest.NewRecorder()
		request.AddCookie(v.cookie())
		page.ServeHTTP(answered, request.WithContext(ctx)) // until it has ended
		cancel()
		if ctx.Err() != context.DeadlineExceeded || answered.Code == http.StatusOK {
			t.Errorf("%s is answered without a place, with %d", path, answered.Code)
		}
	}
	for _, places := range []chan struct{}{s.quick.places, s.uploads.free.places} {
		for range cap(places) {
			<-places
		}
	}
	if n := len(s.results.comparisons.keys) + len(s.results.confirmed.keys); n > 0 {
		t.Errorf("%d things were worked out for nobody", n)
	}
	for path, request := range works(v, mix, ask) {
		response, err := v.client.Do(request)
		if err != nil {
			t.Fatal(err)
		}
		response.Body.Close()
		if response.StatusCode != http.StatusOK {
			t.Errorf("%s: answered with %d", path, response.StatusCode)
		}
	}
}

// A browser that gives up while its mix is being written ends the writing, and nothing
// of the file stays.
func TestGivenUp(t *testing.T) {
	testkit.Skip(t, "a minute of sound")
	v := enter(t)
	mix, ref := v.drop("m.wav", sound(t, 60, 1, faults...)), v.drop("r.wav", sound(t, 5, 2))
	v.measured(mix)
	v.measured(ref)
	ask := usual(mix, ref)
	v.post("/result", ask, nil)
	ctx, cancel := context.WithCancel(t.Context())
	given := make(chan error, 1)
	go func() {
		_, err := v.client.Do(works(v, mix, ask)["/export/mix.wav"].WithContext(ctx))
		given <- err
	}()
	left := func() int { // beside the address and two recordings
		all, err := os.ReadDir(v.server.folder)
		if err != nil {
			t.Fatal(err)
		}
		return len(all) - 3
	}
	for left() == 0 { // the mix is first read for its level, which takes as long as the machine needs
		select {
		case err := <-given:
			t.Fatalf("answered before a file is begun: %v", err)
		case <-time.After(time.Millisecond):
		}
	}
	cancel()
	if err := <-given; !errors.Is(err, context.Canceled) {
		t.Fatalf("the browser gets %v", err)
	}
	began := time.Now()
	for end := began.Add(time.Minute); left()+len(v.server.uploads.free.places) > 0; time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("%d files, %d places are taken", left(), len(v.server.uploads.free.places))
		}
	}
	t.Logf("ended after %v", time.Since(began))
}

// What reads the whole mix again and again decodes it once: a FLAC whose file is gone can
// still be written through the moves once it was confirmed.
func TestDecodedOnce(t *testing.T) {
	testkit.Skip(t, "an encoder of another program")
	v := enter(t)
	flac := coded(t, sound(t, 8, 1, faults...), "flac", "flac", "--silent", "-o", "OUT", "IN")
	mix, ref := v.drop("m.flac", flac), v.drop("r.wav", sound(t, 8, 2))
	v.measured(mix)
	v.measured(ref)
	ask := usual(mix, ref)
	if code := v.post("/confirm", ask, nil); code != http.StatusOK {
		t.Fatalf("answered with %d", code)
	}
	if err := os.Remove(v.server.uploads.get(mix).path); err != nil {
		t.Fatal(err)
	}
	if code := v.post("/export/mix.wav", ask, nil); code != http.StatusOK {
		t.Errorf("answered with %d", code)
	}
}
