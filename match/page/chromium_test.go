package page

import (
	"context"
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// browser is a real browser with one page open, and what it complained of.
type browser struct {
	t   testing.TB
	ctx context.Context

	lock       sync.Mutex
	complaints []string // console messages, exceptions, refusals
	requests   []string // addresses asked for
}

// needed skips the test where a tool is missing, or fails it where they are required.
func needed(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("TONEPLUMB_ORACLES") == "required" {
		t.Fatalf("%s is needed for this check and is not there", what)
	}
	t.Skipf("%s is not there", what)
}

// chromium is started once for all tests, each of which has a tab of its own.
var chromium struct {
	sync.Mutex
	ctx  context.Context
	stop context.CancelFunc
}

func TestMain(m *testing.M) {
	code := m.Run()
	if chromium.stop != nil {
		chromium.stop()
	}
	os.Exit(code)
}

// tab opens an empty tab.
func tab(t testing.TB) context.Context {
	t.Helper()
	chromium.Lock()
	defer chromium.Unlock()
	if chromium.ctx == nil {
		path, err := exec.LookPath("chromium")
		if err != nil {
			needed(t, "chromium")
		}
		options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU)
		allocator, stopAll := chromedp.NewExecAllocator(context.Background(), options...)
		ctx, stop := chromedp.NewContext(allocator)
		if err := chromedp.Do(ctx); err != nil {
			t.Fatal(err)
		}
		chromium.ctx, chromium.stop = ctx, func() { stop(); stopAll() }
	}
	ctx, stop := chromedp.NewContext(chromium.ctx)
	t.Cleanup(stop)
	return ctx
}

// openPage writes html to a file and opens it from disk.
func openPage(t testing.TB, html []byte) *browser {
	t.Helper()
	ctx := tab(t)
	file := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(file, html, 0o600); err != nil {
		t.Fatal(err)
	}
	b := &browser{t: t, ctx: ctx}
	if err := chromedp.Listen(ctx, b.hear); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx); err != nil { // opens the tab
		t.Fatal(err)
	}
	// From here on nothing takes longer: two slow cores that others use too.
	const patience = 5 * time.Minute
	var stop context.CancelFunc
	b.ctx, stop = context.WithTimeout(ctx, patience)
	t.Cleanup(stop)
	command(b, network.Enable, network.EnableParams{})
	command(b, log.Enable, cdp.Empty{})
	command(b, runtime.Enable, cdp.Empty{})
	b.run(chromedp.Navigate("file://"+file), chromedp.WaitReady("main"))
	return b
}

// hear notes what the browser tells.
func (b *browser) hear(event any) {
	b.lock.Lock()
	defer b.lock.Unlock()
	switch e := event.(type) {
	case *runtime.EventConsoleAPICalled:
		b.complaints = append(b.complaints, fmt.Sprintf("console.%s: %s", e.Type, words(e.Args...)))
	case *runtime.EventExceptionThrown:
		b.complaints = append(b.complaints, fmt.Sprintf("exception: %s, line %d", words(e.ExceptionDetails.Exception), e.ExceptionDetails.LineNumber))
	case *log.EventEntryAdded:
		b.complaints = append(b.complaints, fmt.Sprintf("%s: %s", e.Entry.Level, e.Entry.Text))
	case *network.EventRequestWillBeSent:
		b.requests = append(b.requests, e.Request.URL[:min(80, len(e.Request.URL))])
	}
}

// command sends the browser a command of its protocol.
func command[P, R any](b *browser, cmd cdp.Command[P, R], params P) {
	b.t.Helper()
	if _, err := chromedp.Call(b.ctx, cmd, params); err != nil {
		b.t.Fatal(err)
	}
}

// words are what objects of the page say.
func words(objects ...*runtime.RemoteObject) string {
	var all []string
	for _, o := range objects {
		if o != nil {
			all = append(all, string(o.Value)+o.Description)
		}
	}
	return strings.Join(all, " ")
}

func (b *browser) run(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.t.Fatal(err)
	}
}

// given runs an action and returns its value.
func given[T any](b *browser, action chromedp.Action[T]) T {
	b.t.Helper()
	value, err := chromedp.Run(b.ctx, action)
	if err != nil {
		b.t.Fatal(err)
	}
	return value
}

// eval runs script and waits for its promise.
func eval[T any](b *browser, script string) T {
	b.t.Helper()
	return given(b, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
}

// text is what an expression gives, as text.
func (b *browser) text(expression string) string {
	b.t.Helper()
	return eval[string](b, "String("+expression+")")
}

// until waits for an expression to be true.
func (b *browser) until(expression string) {
	b.t.Helper()
	for end := time.Now().Add(30 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		if b.text(expression) == "true" {
			return
		}
		if time.Now().After(end) {
			b.t.Fatalf("never came: %s; the player says %q", expression, b.text(`document.getElementById("state").textContent`))
		}
	}
}

// quiet checks that the browser had nothing to complain of and asked for nothing but the
// page itself and what is inside it.
func (b *browser) quiet() {
	b.t.Helper()
	b.lock.Lock()
	defer b.lock.Unlock()
	for _, c := range b.complaints {
		b.t.Errorf("the browser says %s", c)
	}
	files := 0
	for _, url := range b.requests {
		switch {
		case strings.HasPrefix(url, "file://") && strings.HasSuffix(url, "/page.html"):
			files++
		case !strings.HasPrefix(url, "data:"):
			b.t.Errorf("the browser asked for %s", url)
		}
	}
	if files != 1 {
		b.t.Errorf("the page was asked for %d times in %q", files, b.requests)
	}
}

// offline renders the page's own graph, both channels, for so many seconds at a rate;
// script may use g, the graph, before it is started at the beginning of the excerpt.
func (b *browser) offline(rateHz int, sec float64, script string) [][]float64 {
	b.t.Helper()
	packed := eval[string](b, fmt.Sprintf(`(async () => {
		const player = livePlayer.transport.player;
		const ctx = new OfflineAudioContext(2, %d, %d);
		let g = buildGraph(ctx, player, await loadSounds(ctx, player, bytesIn));
		g.out.connect(ctx.destination);
		let part = [0, g.seconds];
		%s;
		g.start(0, part[0], ...part);
		const sound = await ctx.startRendering();
		let text = "";
		for (const channel of [0, 1]) {
			const bytes = new Uint8Array(sound.getChannelData(channel).buffer);
			for (let i = 0; i < bytes.length; i += 32768) text += String.fromCharCode(...bytes.subarray(i, i + 32768));
		}
		return btoa(text);
	})()`, int(math.Round(sec*float64(rateHz))), rateHz, script))
	raw, err := base64.StdEncoding.DecodeString(packed)
	if err != nil {
		b.t.Fatal(err)
	}
	frames := len(raw) / 8
	x := [][]float64{make([]float64, frames), make([]float64, frames)}
	for i := range 2 * frames {
		x[i/frames][i%frames] = float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:])))
	}
	return x
}
