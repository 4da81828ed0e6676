package serve

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// tab is a tab of a real browser at the served page.
type tab struct {
	t         testing.TB
	ctx       context.Context
	downloads string

	lock       sync.Mutex
	complaints []string
}

func chromiumPath(t testing.TB) string {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("TONEPLUMB_ORACLES") == "required" {
			t.Fatal("chromium is needed for this check and is not there")
		}
		t.Skip("chromium is not there")
	}
	return path
}

// open opens the page in a browser that was not let in yet.
func (v *visit) open() *tab {
	v.t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromiumPath(v.t)), chromedp.NoSandbox, chromedp.DisableGPU)
	ctx, stop := chromedp.NewExecAllocator(context.Background(), options...)
	v.t.Cleanup(stop)
	b := v.tab(ctx)
	b.run(chromedp.Navigate(v.server.URL()), chromedp.WaitReady("main"))
	return b
}

// tab opens a tab in the browser of a context.
func (v *visit) tab(ctx context.Context) *tab {
	v.t.Helper()
	ctx, stop := chromedp.NewContext(ctx)
	v.t.Cleanup(stop)
	b := &tab{t: v.t, ctx: ctx, downloads: v.t.TempDir()}
	if err := chromedp.Listen(ctx, b.hear); err != nil {
		v.t.Fatal(err)
	}
	const patience = 5 * time.Minute // two slow cores that others use too
	b.ctx, stop = context.WithTimeout(ctx, patience)
	v.t.Cleanup(stop)
	command(b, log.Enable, cdp.Empty{})
	command(b, runtime.Enable, cdp.Empty{})
	command(b, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: b.downloads})
	return b
}

// hear notes what the browser complains of.
func (b *tab) hear(event any) {
	said := func(objects ...*runtime.RemoteObject) string {
		var all []string
		for _, o := range objects {
			if o != nil {
				all = append(all, string(o.Value)+o.Description)
			}
		}
		return strings.Join(all, " ")
	}
	b.lock.Lock()
	defer b.lock.Unlock()
	switch e := event.(type) {
	case *runtime.EventConsoleAPICalled:
		b.complaints = append(b.complaints, fmt.Sprintf("console.%s: %s", e.Type, said(e.Args...)))
	case *runtime.EventExceptionThrown:
		b.complaints = append(b.complaints, fmt.Sprintf("exception: %s %s, line %d", e.ExceptionDetails.Text, said(e.ExceptionDetails.Exception), e.ExceptionDetails.LineNumber))
	case *log.EventEntryAdded:
		b.complaints = append(b.complaints, fmt.Sprintf("%s: %s %s", e.Entry.Level, e.Entry.Text, e.Entry.URL))
	}
}

// command sends the browser a command of its protocol.
func command[P, R any](b *tab, cmd cdp.Command[P, R], params P) {
	b.t.Helper()
	if _, err := chromedp.Call(b.ctx, cmd, params); err != nil {
		b.t.Fatal(err)
	}
}

func (b *tab) run(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.t.Fatal(err)
	}
}

// eval runs script and waits for its promise.
func eval[T any](b *tab, script string) T {
	b.t.Helper()
	value, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%v in %s", err, script)
	}
	return value
}

func (b *tab) text(expression string) string {
	b.t.Helper()
	return eval[string](b, "String("+expression+")")
}

// textOf is the text of the element with an id.
func (b *tab) textOf(id string) string {
	return b.text(fmt.Sprintf("document.getElementById(%q).innerText", id))
}

// until waits for an expression to be true.
func (b *tab) until(expression string) {
	b.t.Helper()
	for end := time.Now().Add(time.Minute); b.text(expression) != "true"; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			b.t.Fatalf("never came: %s; recordings: %q, trouble: %q, the browser says %q", expression, b.textOf("recordings"), b.textOf("trouble"), b.said())
		}
	}
}

func (b *tab) said() []string {
	b.lock.Lock()
	defer b.lock.Unlock()
	return append([]string{}, b.complaints...)
}

// quiet checks that the browser had nothing to complain of but what was expected.
func (b *tab) quiet(but ...string) {
	b.t.Helper()
	for _, said := range b.said() {
		expected := false
		for _, words := range but {
			expected = expected || strings.Contains(said, words)
		}
		if !expected {
			b.t.Errorf("the browser says %s", said)
		}
	}
}

// settled is true once everything asked for is shown.
const settled = `desk.answer !== null && !desk.answer.waiting && !document.getElementById("found").classList.contains("waiting") && !document.getElementById("found").hidden`

// dropOn drops files on the page as a hand would: name, path, name, path, …
func (b *tab) dropOn(named ...string) {
	b.t.Helper()
	// A field for files takes them from the disk; a drop hands them on under their names.
	eval[bool](b, `(() => { const input = document.createElement("input"); input.type = "file"; input.multiple = true; input.id = "from-disk"; input.hidden = true; document.body.append(input); return true; })()`)
	var names, paths []string
	for i := 0; i < len(named); i += 2 {
		names, paths = append(names, named[i]), append(paths, named[i+1])
	}
	b.run(chromedp.SetUploadFiles("#from-disk", paths))
	list, err := json.Marshal(names)
	if err != nil {
		b.t.Fatal(err)
	}
	eval[bool](b, fmt.Sprintf(`(() => {
		const input = document.getElementById("from-disk"), names = %s, carried = new DataTransfer();
		[...input.files].forEach((file, i) => carried.items.add(new File([file], names[i])));
		input.remove();
		document.getElementById("drop").dispatchEvent(new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer: carried }));
		return true;
	})()`, list))
}

// downloaded waits for a file to be there whole and returns it.
func (b *tab) downloaded(name string) []byte {
	b.t.Helper()
	path := filepath.Join(b.downloads, name)
	for end := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
		if raw, err := os.ReadFile(path); err == nil && len(raw) > 0 {
			if left, _ := filepath.Glob(filepath.Join(b.downloads, "*.crdownload")); len(left) == 0 {
				return raw
			}
		}
		if time.Now().After(end) {
			there, _ := filepath.Glob(filepath.Join(b.downloads, "*"))
			b.t.Fatalf("%s never came; there are %q; the page says %q", name, there, b.textOf("take-state"))
		}
	}
}

// shot takes a picture of the whole page, for the eye, where TONEPLUMB_SHOTS names a folder.
func (b *tab) shot(name string) {
	b.t.Helper()
	dir := os.Getenv("TONEPLUMB_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644); err != nil {
		b.t.Fatal(err)
	}
}
