package cli

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"strings"
	"testing"
)

// The address on stdout opens the page; Ctrl-C ends it as a thing that is done.
func TestServe(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	out, in := io.Pipe()
	ended := make(chan int, 1)
	go func() {
		ended <- Run(ctx, []string{"serve"}, strings.NewReader(""), in, io.Discard)
	}()
	address, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	jar, _ := cookiejar.New(nil)
	client := &http.Client{Jar: jar}
	response, err := client.Get(strings.TrimSpace(address))
	if err != nil {
		t.Fatal(err)
	}
	page, _ := io.ReadAll(response.Body)
	response.Body.Close()
	client.CloseIdleConnections()
	if response.StatusCode != http.StatusOK || !bytes.HasPrefix(page, []byte("<!DOCTYPE html>")) {
		t.Errorf("%s is answered with %d, %.60q", address, response.StatusCode, page)
	}
	cancel()
	if code := <-ended; code != exitDone {
		t.Errorf("exit code %d", code)
	}
}

// Wrong ports and files are refused in two lines.
func TestServeRefuses(t *testing.T) {
	for _, args := range [][]string{{"serve", "--port", "70000"}, {"serve", "--port", "x"}, {"serve", "mix.wav"}} {
		var stdout, stderr bytes.Buffer
		if code := Run(context.Background(), args, strings.NewReader(""), &stdout, &stderr); code != exitFailed || strings.Count(stderr.String(), "\n") != 2 || stdout.Len() > 0 {
			t.Errorf("%q: exit code %d, %q", args, code, &stderr)
		}
	}
}

// Each line that is entered gives a new address.
func TestNewEntrances(t *testing.T) {
	var out bytes.Buffer
	n := 0
	newEntrances(strings.NewReader("\n\n"), &out, func() string {
		n++
		return fmt.Sprintf("http://127.0.0.1:1/enter/%d", n)
	})
	if want := "http://127.0.0.1:1/enter/1\nhttp://127.0.0.1:1/enter/2\n"; out.String() != want {
		t.Errorf("two lines give %q, want %q", &out, want)
	}
}
