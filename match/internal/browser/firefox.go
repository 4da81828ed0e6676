package browser

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"

	"github.com/coder/websocket"
)

// firefox is Firefox, driven by W3C WebDriver BiDi (working draft): commands and events in JSON
// over a websocket.
type firefox struct {
	process *exec.Cmd
	profile string
	socket  *websocket.Conn

	lock    sync.Mutex
	last    int
	answers map[int]chan bidiMessage
	tabs    map[string]*heard // by context
	ended   chan struct{}     // closed when the browser is gone
}

// bidiMessage is an answer or an event.
type bidiMessage struct {
	ID             int
	Result         json.RawMessage
	Error, Message string // of a command that failed

	Method string // of an event
	Params struct {
		Context string // of a request
		Level   string
		Type    string
		Text    string
		Source  struct{ Context string } // of an entry of the log
		Request struct{ URL string }
	}
}

// preferences keep the browser from the network and let files be saved without a question.
const preferences = `user_pref("app.update.enabled", false);
user_pref("browser.shell.checkDefaultBrowser", false);
user_pref("datareporting.policy.dataSubmissionEnabled", false);
user_pref("browser.download.always_ask_before_handling_new_types", false);
`

func startFirefox() (engine, string, error) {
	path, err := exec.LookPath("firefox-esr")
	if err != nil {
		if path, err = exec.LookPath("firefox"); err != nil {
			return nil, "firefox-esr", nil
		}
	}
	if missing := startOutput(); missing != "" {
		return nil, missing, nil
	}
	profile, err := os.MkdirTemp(tempDir, "firefox-")
	if err != nil {
		return nil, "", err
	}
	if err := os.WriteFile(filepath.Join(profile, "user.js"), []byte(preferences), 0o600); err != nil {
		return nil, "", err
	}
	f := &firefox{profile: profile, answers: map[int]chan bidiMessage{}, tabs: map[string]*heard{}, ended: make(chan struct{})}
	f.process = exec.Command(path, "--headless", "--no-remote", "--profile", profile, "--remote-debugging-port=0")
	f.process.Env = append(os.Environ(), "TMPDIR="+tempDir, "HOME="+profile)
	says, err := f.process.StderrPipe()
	if err != nil {
		return nil, "", err
	}
	if err := f.process.Start(); err != nil {
		return nil, "", err
	}
	lines := bufio.NewScanner(says)
	for lines.Scan() {
		if _, host, found := strings.Cut(lines.Text(), "listening on ws://"); found {
			if f.socket, _, err = websocket.Dial(context.Background(), "ws://"+host+"/session", nil); err != nil {
				return nil, "", err
			}
			f.socket.SetReadLimit(-1) // pictures are large
			break
		}
	}
	if f.socket == nil {
		return nil, "", errors.New("firefox ended before it listened")
	}
	go func() { // what it says later is of no use, but it must be read
		for lines.Scan() {
		}
	}()
	go f.listen()
	ctx := context.Background()
	err = f.call(ctx, "session.new", action{"capabilities": action{}}, nil)
	return f, "", errors.Join(err, f.call(ctx, "session.subscribe", action{"events": []string{"log.entryAdded", "network.beforeRequestSent"}}, nil))
}

func (f *firefox) stop() {
	f.process.Process.Kill()
	f.process.Wait()
	os.RemoveAll(f.profile)
}

// listen hands answers and events to those who wait for them.
func (f *firefox) listen() {
	defer close(f.ended)
	for {
		_, raw, err := f.socket.Read(context.Background())
		if err != nil {
			return
		}
		var m bidiMessage
		if json.Unmarshal(raw, &m) != nil {
			continue
		}
		p := m.Params
		f.lock.Lock()
		answer, h := f.answers[m.ID], f.tabs[p.Context+p.Source.Context] // one of them is empty
		f.lock.Unlock()
		switch {
		case m.Method == "" && answer != nil:
			answer <- m
		case m.Method == "log.entryAdded" && h != nil:
			h.complain("%s %s: %s", p.Type, p.Level, p.Text)
		case m.Method == "network.beforeRequestSent" && h != nil:
			h.asked(p.Request.URL)
		}
	}
}

// call runs a command and puts its result in into, which may be nil.
func (f *firefox) call(ctx context.Context, method string, params action, into any) error {
	answer := make(chan bidiMessage, 1)
	f.lock.Lock()
	f.last++
	id := f.last
	f.answers[id] = answer
	raw, err := json.Marshal(action{"id": id, "method": method, "params": params})
	if err == nil {
		err = f.socket.Write(ctx, websocket.MessageText, raw)
	}
	f.lock.Unlock()
	if err != nil {
		return err
	}
	defer func() {
		f.lock.Lock()
		defer f.lock.Unlock()
		delete(f.answers, id)
	}()
	select {
	case m := <-answer:
		if m.Error != "" {
			return fmt.Errorf("%s: %s: %s", method, m.Error, m.Message)
		}
		if into == nil {
			return nil
		}
		return json.Unmarshal(m.Result, into)
	case <-f.ended:
		return fmt.Errorf("%s: firefox is gone", method)
	case <-ctx.Done():
		return fmt.Errorf("%s: %w", method, ctx.Err())
	}
}

// firefoxPage is a tab of Firefox: a "browsing context" in the "user context" of its person.
type firefoxPage struct {
	*firefox
	person, tab string
}

func (f *firefox) open(ctx context.Context, downloads string, h *heard) (page, error) {
	var person struct{ UserContext string }
	if err := f.call(ctx, "browser.createUserContext", action{}, &person); err != nil {
		return nil, err
	}
	if err := f.call(ctx, "browser.setDownloadBehavior", action{"downloadBehavior": action{"type": "allowed", "destinationFolder": downloads},
		"userContexts": []string{person.UserContext}}, nil); err != nil {
		return nil, err
	}
	return f.newTab(ctx, person.UserContext, h)
}

func (f *firefox) newTab(ctx context.Context, person string, h *heard) (page, error) {
	var tab struct{ Context string }
	err := f.call(ctx, "browsingContext.create", action{"type": "tab", "userContext": person}, &tab)
	f.lock.Lock()
	defer f.lock.Unlock()
	f.tabs[tab.Context] = h
	return &firefoxPage{f, person, tab.Context}, err
}

func (p *firefoxPage) eval(ctx context.Context, expression string) ([]byte, error) {
	var answer struct {
		Result           struct{ Value string }
		ExceptionDetails struct{ Text string }
	}
	err := p.call(ctx, "script.evaluate", action{"expression": asJSON(expression), "target": action{"context": p.tab}, "awaitPromise": true}, &answer)
	if err == nil && answer.ExceptionDetails.Text != "" {
		err = errors.New(answer.ExceptionDetails.Text)
	}
	return []byte(answer.Result.Value), err
}

// asJSON makes an expression a promise of its value as JSON.
func asJSON(expression string) string {
	return `(async () => JSON.stringify(await (` + expression + `)) ?? "null")()`
}

func (p *firefoxPage) visit(ctx context.Context, address string) error {
	return p.call(ctx, "browsingContext.navigate", action{"context": p.tab, "url": address, "wait": "complete"}, nil)
}

func (p *firefoxPage) reload(ctx context.Context) error {
	return p.call(ctx, "browsingContext.reload", action{"context": p.tab, "wait": "complete"}, nil)
}

func (p *firefoxPage) press(ctx context.Context, keys string) error {
	return p.call(ctx, "input.performActions", action{"context": p.tab, "actions": keyActions(keys)}, nil)
}

func (p *firefoxPage) point(ctx context.Context, places [][2]float64) error {
	return p.call(ctx, "input.performActions", action{"context": p.tab, "actions": mouseActions(places)}, nil)
}

func (p *firefoxPage) files(ctx context.Context, selector string, paths []string) error {
	var found struct{ Nodes []struct{ SharedID string } }
	if err := p.call(ctx, "browsingContext.locateNodes", action{"context": p.tab, "locator": action{"type": "css", "value": selector}}, &found); err != nil {
		return err
	}
	if len(found.Nodes) != 1 {
		return fmt.Errorf("%d elements are %s", len(found.Nodes), selector)
	}
	return p.call(ctx, "input.setFiles", action{"context": p.tab, "element": action{"sharedId": found.Nodes[0].SharedID}, "files": paths}, nil)
}

// show leaves the paper as it is: the draft has no command for it.
func (p *firefoxPage) show(ctx context.Context, width, height int64, _ string) error {
	return p.call(ctx, "browsingContext.setViewport", action{"context": p.tab, "viewport": action{"width": width, "height": height}}, nil)
}

func (p *firefoxPage) picture(ctx context.Context, whole bool) ([]byte, error) {
	origin := "viewport"
	if whole {
		origin = "document"
	}
	var picture struct{ Data []byte } // in base 64, as package json reads bytes
	err := p.call(ctx, "browsingContext.captureScreenshot", action{"context": p.tab, "origin": origin}, &picture)
	return picture.Data, err
}

func (p *firefoxPage) pdf(ctx context.Context) ([]byte, error) {
	var printed struct{ Data []byte }
	err := p.call(ctx, "browsingContext.print", action{"context": p.tab, "page": action{"width": 21.0, "height": 29.7}}, &printed)
	return printed.Data, err
}

func (p *firefoxPage) beside(ctx context.Context, h *heard) (page, error) {
	return p.newTab(ctx, p.person, h)
}

func (p *firefoxPage) close() {
	ctx, done := context.WithTimeout(context.Background(), wait)
	defer done()
	p.call(ctx, "browsingContext.close", action{"context": p.tab, "promptUnload": false}, nil)
}
