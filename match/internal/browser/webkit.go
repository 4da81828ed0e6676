package browser

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

// webkit is WebKitGTK's browser for tests, driven by W3C WebDriver (Level 2): commands over HTTP.
// Its driver serves one person, so that each has a driver. It draws on a screen in memory.
type webkit struct {
	screen  *exec.Cmd
	display string
	home    string // for what each window keeps
}

// miniBrowser is where Debian puts the browser.
const miniBrowser = "/usr/lib/*/webkit2gtk-4.1/MiniBrowser"

func startWebKit() (engine, string, error) {
	if _, err := exec.LookPath("WebKitWebDriver"); err != nil {
		return nil, "WebKitWebDriver (webkit2gtk-driver)", nil
	}
	xvfb, err := exec.LookPath("Xvfb")
	if err != nil {
		return nil, "Xvfb", nil
	}
	if missing := startOutput(); missing != "" {
		return nil, missing, nil
	}
	home, err := os.MkdirTemp(tempDir, "webkit-")
	if err != nil {
		return nil, "", err
	}
	read, write, err := os.Pipe()
	if err != nil {
		return nil, "", err
	}
	defer read.Close()
	defer write.Close()
	w := &webkit{home: home, screen: exec.Command(xvfb, "-displayfd", "3", "-screen", "0", "2200x1600x24", "-nolisten", "tcp")}
	w.screen.ExtraFiles = []*os.File{write}
	if err := w.screen.Start(); err != nil {
		return nil, "", err
	}
	if _, err := fmt.Fscan(read, &w.display); err != nil {
		return nil, "", fmt.Errorf("no screen of Xvfb: %w", err)
	}
	return w, "", nil
}

func (w *webkit) stop() {
	w.screen.Process.Kill()
	w.screen.Wait()
	os.RemoveAll(w.home)
}

// webkitPage is a window of a session.
type webkitPage struct {
	driver  *exec.Cmd // nil in a second window
	session string    // address of the session
	window  string
	h       *heard
}

// open starts a driver and its browser. Beside other work the two sometimes do not find each other
// (2.50.6, one time in a hundred); then it starts others.
func (w *webkit) open(ctx context.Context, downloads string, h *heard) (page, error) {
	const tries = 3
	var err error
	for range tries {
		var p *webkitPage
		once, done := context.WithTimeout(ctx, wait/2)
		p, err = w.start(once, downloads, h)
		done()
		if err == nil {
			return p, nil
		}
		if p != nil {
			p.close()
		}
	}
	return nil, err
}

// start returns a page whose driver runs even with an error, nil if it does not.
func (w *webkit) start(ctx context.Context, downloads string, h *heard) (*webkitPage, error) {
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	address := free.Addr().(*net.TCPAddr)
	free.Close()
	home, err := w.settings(downloads)
	if err != nil {
		return nil, err
	}
	p := &webkitPage{driver: exec.Command("WebKitWebDriver", fmt.Sprintf("--port=%d", address.Port)), h: h}
	p.driver.Env = append(os.Environ(), "DISPLAY=:"+w.display, "TMPDIR="+tempDir, "HOME="+home, "XDG_CONFIG_HOME="+filepath.Join(home, ".config"))
	if err := p.driver.Start(); err != nil {
		return nil, err
	}
	p.session = "http://" + address.String()
	for p.call(ctx, "GET", "/status", nil, nil) != nil && ctx.Err() == nil {
		time.Sleep(look)
	}
	found, _ := filepath.Glob(miniBrowser)
	if len(found) == 0 {
		return p, errors.New(miniBrowser + " is not there")
	}
	var session struct{ SessionID string }
	if err := p.call(ctx, "POST", "/session", action{"capabilities": action{"alwaysMatch": action{
		"timeouts":                 action{"script": patience.Milliseconds()},
		"unhandledPromptBehavior":  "accept",
		"webkitgtk:browserOptions": action{"binary": found[0], "args": []string{"--automation"}}}}}, &session); err != nil {
		return p, err
	}
	p.session += "/session/" + session.SessionID
	return p, p.call(ctx, "GET", "/window", nil, &p.window)
}

// settings makes a home for one window: its downloads go where the desktop's settings have them
// when the first one comes. The window can only be as narrow as its buttons, 447 px in 2.50 if
// they are not made smaller.
func (w *webkit) settings(downloads string) (home string, err error) {
	if home, err = os.MkdirTemp(w.home, ""); err != nil {
		return "", err
	}
	folder := filepath.Join(home, ".config")
	return home, errors.Join(
		os.MkdirAll(filepath.Join(folder, "gtk-3.0"), 0o700),
		os.WriteFile(filepath.Join(folder, "user-dirs.dirs"), fmt.Appendf(nil, "XDG_DOWNLOAD_DIR=%q\n", downloads), 0o600),
		os.WriteFile(filepath.Join(folder, "gtk-3.0", "gtk.css"), []byte("* { min-width: 0; padding: 0; margin: 0; font-size: 6px }"), 0o600))
}

// call runs a command of the session and puts its value in into, which may be nil.
func (p *webkitPage) call(ctx context.Context, method, path string, params action, into any) error {
	var body bytes.Buffer
	if method == "POST" {
		if params == nil {
			params = action{}
		}
		if err := json.NewEncoder(&body).Encode(params); err != nil {
			return err
		}
	}
	request, err := http.NewRequestWithContext(ctx, method, p.session+path, &body)
	if err != nil {
		return err
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	var answer struct{ Value json.RawMessage }
	if err := json.NewDecoder(response.Body).Decode(&answer); err != nil {
		return fmt.Errorf("%s %s: %w", method, path, err)
	}
	if response.StatusCode != http.StatusOK {
		return fmt.Errorf("%s %s: %s", method, path, answer.Value)
	}
	if into == nil {
		return nil
	}
	return json.Unmarshal(answer.Value, into)
}

// here runs a command in the page's own window.
func (p *webkitPage) here(ctx context.Context, method, path string, params action, into any) error {
	if err := p.call(ctx, "POST", "/window", action{"handle": p.window}, nil); err != nil {
		return err
	}
	return p.call(ctx, method, path, params, into)
}

// complaints collects what the page complains of, from the first script that a test runs on: the
// standard has no log. It returns what came since it was last asked.
const complaints = `(() => {
	if (!window.complained) {
		const all = (window.complained = []);
		addEventListener("error", (e) => all.push("error: " + e.message));
		addEventListener("unhandledrejection", (e) => all.push("rejected: " + e.reason));
		document.addEventListener("securitypolicyviolation", (e) => all.push("refused: " + e.violatedDirective + " " + e.blockedURI));
		for (const kind of ["warn", "error"]) console[kind] = (...words) => all.push(kind + ": " + words.join(" "));
	}
	return window.complained.splice(0);
})()`

func (p *webkitPage) eval(ctx context.Context, expression string) ([]byte, error) {
	var answer string
	if err := p.here(ctx, "POST", "/execute/sync", action{"script": "return " + asJSON(`[`+complaints+`, await (`+expression+`)]`), "args": []any{}}, &answer); err != nil {
		return nil, err
	}
	var both [2]json.RawMessage
	var said []string
	if err := errors.Join(json.Unmarshal([]byte(answer), &both), json.Unmarshal(both[0], &said)); err != nil {
		return nil, err
	}
	for _, s := range said {
		p.h.complain("%s", s)
	}
	return both[1], nil
}

func (p *webkitPage) visit(ctx context.Context, address string) error {
	return p.here(ctx, "POST", "/url", action{"url": address}, nil)
}

func (p *webkitPage) reload(ctx context.Context) error {
	return p.here(ctx, "POST", "/refresh", nil, nil)
}

func (p *webkitPage) press(ctx context.Context, keys string) error {
	return p.here(ctx, "POST", "/actions", action{"actions": keyActions(keys)}, nil)
}

func (p *webkitPage) point(ctx context.Context, places [][2]float64) error {
	return p.here(ctx, "POST", "/actions", action{"actions": mouseActions(places)}, nil)
}

func (p *webkitPage) files(ctx context.Context, selector string, paths []string) error {
	var element map[string]string // its one key is the standard's name of elements
	if err := p.here(ctx, "POST", "/element", action{"using": "css selector", "value": selector}, &element); err != nil {
		return err
	}
	for _, id := range element {
		return p.here(ctx, "POST", "/element/"+id+"/value", action{"text": strings.Join(paths, "\n")}, nil)
	}
	return fmt.Errorf("no element is %s", selector)
}

// show makes the window so large that the page in it has the size. The paper stays light: the
// standard has no command for it.
func (p *webkitPage) show(ctx context.Context, width, height int64, _ string) error {
	outside := [2]int64{width, height}
	for range 10 {
		if err := p.here(ctx, "POST", "/window/rect", action{"width": outside[0], "height": outside[1]}, nil); err != nil {
			return err
		}
		raw, err := p.eval(ctx, `new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(() => drawn([innerWidth, innerHeight]))))`)
		if err != nil {
			return err
		}
		var inside [2]int64
		if err := json.Unmarshal(raw, &inside); err != nil {
			return err
		}
		if inside == [2]int64{width, height} {
			return nil
		}
		outside[0] += width - inside[0]
		outside[1] += height - inside[1]
	}
	return fmt.Errorf("the window does not become %d by %d", width, height)
}

// picture is always of the window alone.
func (p *webkitPage) picture(ctx context.Context, _ bool) ([]byte, error) {
	var text string
	if err := p.here(ctx, "GET", "/screenshot", nil, &text); err != nil {
		return nil, err
	}
	return base64.StdEncoding.DecodeString(text)
}

func (p *webkitPage) pdf(context.Context) ([]byte, error) {
	return nil, errors.New("the driver of WebKit does not print")
}

func (p *webkitPage) beside(ctx context.Context, h *heard) (page, error) {
	var window struct{ Handle string }
	err := p.here(ctx, "POST", "/window/new", action{"type": "window"}, &window)
	return &webkitPage{session: p.session, window: window.Handle, h: h}, err
}

func (p *webkitPage) close() {
	if p.driver == nil {
		return // ends with the first window
	}
	ctx, done := context.WithTimeout(context.Background(), wait)
	defer done()
	p.call(ctx, "DELETE", "", nil, nil)
	p.driver.Process.Kill()
	p.driver.Wait()
}
