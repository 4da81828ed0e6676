package browser

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"strings"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// chromium is Chromium, driven by its own protocol.
type chromium struct {
	ctx     context.Context
	stopAll func()
}

func startChromium() (engine, string, error) {
	path, err := exec.LookPath("chromium")
	if err != nil {
		return nil, "chromium", nil
	}
	startOutput() // Chromium plays without one, too
	profile, err := os.MkdirTemp(tempDir, "chromium-")
	if err != nil {
		return nil, "", err
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("mute-audio", false), chromedp.UserDataDir(profile), chromedp.Env("TMPDIR="+tempDir))
	allocator, stopAll := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, stop := chromedp.NewContext(allocator)
	c := &chromium{ctx, func() { stop(); stopAll(); os.RemoveAll(profile) }}
	return c, "", chromedp.Do(ctx)
}

func (c *chromium) stop() { c.stopAll() }

func (c *chromium) open(_ context.Context, downloads string, h *heard) (page, error) {
	return openChromium(c.ctx, downloads, h, chromedp.WithNewBrowserContext())
}

// chromiumPage is a tab of Chromium.
type chromiumPage struct {
	ctx       context.Context
	downloads string
	stop      func()
}

func openChromium(parent context.Context, downloads string, h *heard, options ...chromedp.ContextOption) (page, error) {
	ctx, stop := chromedp.NewContext(parent, options...)
	p := &chromiumPage{ctx, downloads, stop}
	if err := chromedp.Listen(ctx, h.chromium); err != nil {
		return nil, err
	}
	return p, chromedp.Do(ctx, // opens the tab
		call(log.Enable, cdp.Empty{}), call(runtime.Enable, cdp.Empty{}), call(network.Enable, network.EnableParams{}),
		func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
			return call(browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: browser.SetDownloadBehaviorBehaviorAllow,
				DownloadPath: downloads, BrowserContextID: chromedp.FromContext(ctx).BrowserContextID})(ctx, t)
		})
}

// call is a command of the protocol as an action.
func call[P, R any](cmd cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, cmd, params)
		return chromedp.Void{}, err
	}
}

// chromium records the browser's events.
func (h *heard) chromium(event any) {
	switch e := event.(type) {
	case *runtime.EventConsoleAPICalled:
		h.complain("console.%s: %s", e.Type, words(e.Args...))
	case *runtime.EventExceptionThrown:
		d := e.ExceptionDetails
		h.complain("exception: %s %s, line %d", d.Text, words(d.Exception), d.LineNumber)
	case *log.EventEntryAdded:
		h.complain("%s: %s %s", e.Entry.Level, e.Entry.Text, e.Entry.URL)
	case *network.EventRequestWillBeSent:
		h.asked(e.Request.URL)
	}
}

// words returns the text of objects of the page.
func words(objects ...*runtime.RemoteObject) string {
	var all []string
	for _, o := range objects {
		if o != nil {
			all = append(all, string(o.Value)+o.Description)
		}
	}
	return strings.Join(all, " ")
}

// within returns the tab's context, which ends as ctx does.
func (p *chromiumPage) within(ctx context.Context) (context.Context, func()) {
	end, _ := ctx.Deadline()
	return context.WithDeadline(p.ctx, end)
}

func (p *chromiumPage) do(ctx context.Context, steps ...chromedp.Action[chromedp.Void]) error {
	ctx, done := p.within(ctx)
	defer done()
	return chromedp.Do(ctx, steps...)
}

func (p *chromiumPage) eval(ctx context.Context, expression string) ([]byte, error) {
	ctx, done := p.within(ctx)
	defer done()
	value, err := chromedp.Run(ctx, chromedp.Evaluate[any](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		return nil, err
	}
	return json.Marshal(value)
}

func (p *chromiumPage) visit(ctx context.Context, address string) error {
	return p.do(ctx, chromedp.Navigate(address))
}

func (p *chromiumPage) reload(ctx context.Context) error { return p.do(ctx, chromedp.Reload()) }

// chromiumKeys are keys as chromedp names them.
var chromiumKeys = strings.NewReplacer(Enter, kb.Enter, Escape, kb.Escape, End, kb.End, Home, kb.Home,
	Left, kb.ArrowLeft, Up, kb.ArrowUp, Right, kb.ArrowRight, Down, kb.ArrowDown, Delete, kb.Delete)

func (p *chromiumPage) press(ctx context.Context, keys string) error {
	plain, shifted, _ := strings.Cut(keys, Shift)
	return p.do(ctx, chromedp.KeyEvent(chromiumKeys.Replace(plain)), chromedp.KeyEvent(chromiumKeys.Replace(shifted), chromedp.KeyModifiers(chromedp.ModifierShift)))
}

func (p *chromiumPage) point(ctx context.Context, places [][2]float64) error {
	at := func(kind input.DispatchMouseEventType, place [2]float64, options ...chromedp.MouseOption) chromedp.Action[chromedp.Void] {
		return chromedp.MouseEvent(kind, place[0], place[1], options...)
	}
	left := []chromedp.MouseOption{chromedp.ButtonLeft, chromedp.ClickCount(1)}
	steps := []chromedp.Action[chromedp.Void]{at(chromedp.MouseMoved, places[0]), at(chromedp.MousePressed, places[0], left...)}
	for _, place := range places[1:] {
		steps = append(steps, at(chromedp.MouseMoved, place, left...))
	}
	return p.do(ctx, append(steps, at(chromedp.MouseReleased, places[len(places)-1], left...))...)
}

func (p *chromiumPage) files(ctx context.Context, selector string, paths []string) error {
	return p.do(ctx, chromedp.SetUploadFiles(chromedp.CSS(selector), paths))
}

func (p *chromiumPage) show(ctx context.Context, width, height int64, paper string) error {
	params := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: strings.TrimPrefix(paper, "print ")}}}
	if strings.HasPrefix(paper, "print ") {
		params.Media = "print"
	}
	return p.do(ctx, chromedp.EmulateViewport(width, height), call(emulation.SetEmulatedMedia, params))
}

func (p *chromiumPage) picture(ctx context.Context, whole bool) ([]byte, error) {
	ctx, done := p.within(ctx)
	defer done()
	if whole {
		return chromedp.Run(ctx, chromedp.FullScreenshot(100))
	}
	return chromedp.Run(ctx, chromedp.CaptureScreenshot())
}

func (p *chromiumPage) pdf(ctx context.Context) ([]byte, error) {
	ctx, done := p.within(ctx)
	defer done()
	return chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4)))
}

func (p *chromiumPage) beside(_ context.Context, h *heard) (page, error) {
	return openChromium(p.ctx, p.downloads, h)
}

func (p *chromiumPage) close() { p.stop() }
