package serve

import (
	"bytes"
	"fmt"
	"io"
	"mime"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The token lets one browser in; a second one, a wrong one and none are refused.
func TestToken(t *testing.T) {
	v := start(t)
	g := v.server.guard
	if len(g.tokens[0].text) < 26 || len(g.home) < 28 { // 26 letters of 32 are 130 bits
		t.Errorf("the token has %d letters, the path %d", len(g.tokens[0].text), len(g.home))
	}
	for _, path := range []string{"/", "/history", "/recordings/x", "/enter/", "/enter/" + strings.Repeat("A", 26), "/../", "//", g.home, g.home + "history", g.home[:27]} {
		refused(t, v.client, v.origin+path)
	}
	if code := v.enter(); code != http.StatusOK {
		t.Fatalf("the right token is answered with %d", code)
	}
	if code := v.enter(); code != http.StatusOK {
		t.Errorf("the browser that was let in is refused with %d when it goes there again", code)
	}
	jar, _ := cookiejar.New(nil)
	other := &http.Client{Jar: jar}
	defer other.CloseIdleConnections()
	for _, address := range []string{v.server.URL(), v.origin, v.home, v.home + "/"} {
		refused(t, other, address)
	}
}

// refused checks that somebody is told no more than that he is not let in.
func refused(t *testing.T, c *http.Client, address string) {
	t.Helper()
	response, err := c.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	body, _ := io.ReadAll(response.Body)
	response.Body.Close()
	if response.StatusCode != http.StatusForbidden || bytes.Contains(body, []byte("<")) || !strings.HasPrefix(response.Header.Get("Content-Type"), "application/json") || len(response.Cookies()) > 0 {
		t.Errorf("%s is answered with %d, %.80q", address, response.StatusCode, body)
	}
}

// Another server on this machine is not sent the cookie, which knows no ports, and with
// the cookie alone nothing can be done or seen.
func TestOtherServer(t *testing.T) {
	v := enter(t)
	got := ""
	other := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { got += r.Header.Get("Cookie") }))
	defer other.Close()
	for _, path := range []string{"", "/", "/enter/", "/history"} {
		response, err := v.client.Get(other.URL + path)
		if err != nil {
			t.Fatal(err)
		}
		response.Body.Close()
	}
	if got != "" {
		t.Errorf("another server is sent %q", got)
	}

	id, cookie, jarless := v.drop("kept.wav", sound(t, 5, 1)), v.cookie(), &http.Client{}
	v.measured(id)
	defer jarless.CloseIdleConnections()
	for _, path := range []string{"", "/", "/history", "/recordings/" + id, "/sounds/" + id + "?from=0&sec=1", "/enter/", "/enter/x", "/.."} {
		for _, method := range []string{"GET", "POST", "DELETE"} {
			request, err := http.NewRequest(method, v.origin+path, strings.NewReader("{}"))
			if err != nil {
				t.Fatal(err)
			}
			request.AddCookie(cookie)
			request.Header.Set("Origin", v.origin)
			response, err := jarless.Do(request)
			if err != nil {
				t.Fatal(err)
			}
			answer, _ := io.ReadAll(response.Body)
			response.Body.Close()
			if s := response.StatusCode; s != http.StatusForbidden && s != http.StatusMethodNotAllowed {
				t.Errorf("%s %q is answered with %d", method, path, s)
			}
			if told := fmt.Sprint(response.Header, string(answer)); strings.Contains(told, strings.Trim(v.server.guard.home, "/")) {
				t.Errorf("%s %q tells the path: %s", method, path, told)
			}
		}
	}
}

// The cookie cannot be read by scripts nor sent along by other pages.
func TestCookie(t *testing.T) {
	v := start(t)
	v.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	response, err := v.client.Get(v.server.URL())
	if err != nil {
		t.Fatal(err)
	}
	response.Body.Close()
	for _, c := range response.Cookies() {
		if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Domain != "" || (c.Path != v.server.guard.home && !strings.HasPrefix(v.server.URL(), v.origin+c.Path)) || c.Path == "/" {
			t.Errorf("cookie %v", c)
		}
	}
	if strings.Contains(response.Header.Get("Location"), v.server.guard.session) || response.Header.Get("Location") != v.server.guard.home {
		t.Errorf("it leads to %q", response.Header.Get("Location"))
	}
}

// What other pages and other names can send is refused, with the right cookie too, and
// changes nothing.
func TestOtherPages(t *testing.T) {
	v := enter(t)
	id := v.drop("kept.wav", []byte("no sound"))
	cookie, jarless := v.cookie(), &http.Client{}
	defer jarless.CloseIdleConnections()
	port := v.server.guard.address[strings.LastIndexByte(v.server.guard.address, ':'):]
	for _, attack := range []struct {
		name, method, path, host string
		headers                  map[string]string
		refused                  bool
	}{
		{"ours", "POST", "/result", "", map[string]string{"Origin": v.origin}, false},
		{"ours by name", "GET", "/", "localhost" + port, nil, false},
		{"another host", "GET", "/", "evil.example", nil, true},
		{"another host with our port", "GET", "/", "evil.example" + port, nil, true},
		{"another port", "GET", "/", "127.0.0.1:1", nil, true},
		{"no port", "GET", "/", "127.0.0.1", nil, true},
		{"another name of the machine", "GET", "/", "127.0.0.1.evil.example" + port, nil, true},
		{"another host at the entrance", "GET", "/enter/x", "evil.example", nil, true},
		{"another host asks whose folder", "HEAD", livePath + filepath.Base(v.server.folder), "evil.example", nil, true},
		{"another origin", "POST", "/demo", "", map[string]string{"Origin": "https://evil.example"}, true},
		{"another origin looks", "GET", "/history", "", map[string]string{"Origin": "https://evil.example"}, true},
		{"another origin takes away", "DELETE", "/recordings/" + id, "", map[string]string{"Origin": "http://127.0.0.1:1"}, true},
		{"our origin with https", "POST", "/demo", "", map[string]string{"Origin": "https://" + v.server.guard.address}, true},
		{"our address in another's", "POST", "/demo", "", map[string]string{"Origin": v.origin + ".evil.example"}, true},
		{"the origin of a file", "POST", "/demo", "", map[string]string{"Origin": "null"}, true},
		{"no origin", "POST", "/demo", "", nil, true},
		{"another origin gives a role", "PUT", "/recordings/" + id + "/role/mix", "", map[string]string{"Origin": "https://evil.example"}, true},
		{"no origin gives a role", "PUT", "/recordings/" + id + "/role/mix", "", nil, true},
		{"no origin takes away", "DELETE", "/recordings/" + id, "", nil, true},
		{"a picture elsewhere", "GET", "/history", "", map[string]string{"Sec-Fetch-Site": "cross-site"}, true},
		{"another port's page", "GET", "/history", "", map[string]string{"Sec-Fetch-Site": "same-site"}, true},
	} {
		at := v.home
		if strings.HasPrefix(attack.path, entrance) || strings.HasPrefix(attack.path, livePath) {
			at = v.origin
		}
		request, err := http.NewRequest(attack.method, at+attack.path, strings.NewReader("{}"))
		if err != nil {
			t.Fatal(err)
		}
		if attack.host != "" {
			request.Host = attack.host
		}
		request.AddCookie(cookie) // not from the jar, which goes by the host
		for name, value := range attack.headers {
			request.Header.Set(name, value)
		}
		response, err := jarless.Do(request)
		if err != nil {
			t.Fatal(err)
		}
		response.Body.Close()
		if got := response.StatusCode == http.StatusForbidden; got != attack.refused {
			t.Errorf("%s: answered with %d, refused should be %v", attack.name, response.StatusCode, attack.refused)
		}
		if response.Header.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: other origins are let in", attack.name)
		}
	}
	var history struct{ Recordings []recordingState }
	v.ask("GET", "/history", nil, &history)
	if len(history.Recordings) != 1 || history.Recordings[0].Role != notUsed {
		t.Errorf("afterwards there are %d recordings, want the one that was there", len(history.Recordings))
	}
}

// It listens on this machine's own address and no other.
func TestAddress(t *testing.T) {
	v := start(t)
	if ip := v.server.listener.Addr().(*net.TCPAddr).IP; !ip.Equal(net.IPv4(127, 0, 0, 1)) {
		t.Errorf("it listens at %v", ip)
	}
}

// Every answer carries the headers, and the page's policy names no other place and lets
// no text of the page run.
func TestPolicy(t *testing.T) {
	v := enter(t)
	for _, path := range []string{"/", "/history", "/nothing"} {
		response, err := v.client.Get(v.home + path)
		if err != nil {
			t.Fatal(err)
		}
		response.Body.Close()
		h := response.Header
		policy := h.Get("Content-Security-Policy")
		if !strings.Contains(policy, "default-src 'none'") || !strings.Contains(policy, "frame-ancestors 'none'") || strings.Contains(policy, "unsafe") || strings.Contains(policy, "http") || strings.Contains(policy, "*") {
			t.Errorf("%s: policy %q", path, policy)
		}
		for name, want := range map[string]string{"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer", "Cache-Control": "no-store", "Cross-Origin-Resource-Policy": "same-origin"} {
			if h.Get(name) != want {
				t.Errorf("%s: %s is %q, want %q", path, name, h.Get(name), want)
			}
		}
	}
}

// A name is text: it opens no path, neither when it is stored nor when it is handed out.
func TestNames(t *testing.T) {
	v := enter(t)
	content := sound(t, 5, 1)
	for given, want := range map[string]string{
		"../../../etc/passwd":                "passwd",
		`C:\Users\anna\mix.wav`:              "mix.wav",
		"/absolute/path.wav":                 "path.wav",
		"..":                                 "without a name",
		"":                                   "without a name",
		"a\x00b\nc\r.wav":                    "",
		"<script>alert(1)</script>.wav":      "script>.wav",
		`"><img src=x onerror=alert(1)>.wav`: `"><img src=x onerror=alert(1)>.wav`,
		"\u202egnp.wav":                      "",
		strings.Repeat("ä", 5000) + ".wav":   strings.Repeat("ä", maxNameRunes),
		"\xff\xfe.wav":                       "",
		"mix\"; filename=\"evil.exe":         `mix"; filename="evil.exe`,
		"Größe – “schön”, 日本.wav":            "Größe – “schön”, 日本.wav",
		"%2e%2e%2fpasswd":                    "%2e%2e%2fpasswd",
		"toneplumb-serve-" + strings.Repeat("/", 99): "toneplumb-serve-",
	} {
		id := v.drop(given, content)
		state := v.measured(id)
		if want != "" && state.Name != want {
			t.Errorf("%q is called %q, want %q", given, state.Name, want)
		}
		if strings.ContainsAny(state.Name, "\x00\n\r/\u202e") {
			t.Errorf("%q is called %q", given, state.Name)
		}
		if state.State != ready {
			t.Errorf("%q: %+v", given, state.Trouble)
		}
		header := attachment(state.Name)
		kind, values, err := mime.ParseMediaType(header)
		if err != nil || kind != "attachment" || strings.ContainsAny(values["filename"], `/\"`) || strings.ContainsAny(header, "\r\n") {
			t.Errorf("%q is handed out as %q (%v)", given, header, err)
		}
	}
	entries, err := os.ReadDir(v.server.folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.Name() != addressFile && v.server.uploads.get(e.Name()) == nil {
			t.Errorf("the private folder holds %q", e.Name())
		}
	}
	info, err := os.Stat(v.server.folder)
	if err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("the private folder has mode %v (%v)", info.Mode(), err)
	}
}

// Ids are looked up and open no path either.
func TestIDs(t *testing.T) {
	v := enter(t)
	for _, path := range []string{"/recordings/address", "/recordings/..%2f..%2fetc%2fpasswd", "/exports/address", "/exports/..%2faddress", "/sounds/address?from=0&sec=1", "/nothing"} {
		if code := v.ask("GET", path, nil, nil); code != http.StatusNotFound {
			t.Errorf("%s is answered with %d", path, code)
		}
	}
	if code := v.post("/export/..%2f..%2fx", usual("x", "y"), nil); code != http.StatusNotFound && code != http.StatusUnprocessableEntity {
		t.Errorf("a path to take away is answered with %d", code)
	}
}
