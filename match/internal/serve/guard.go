package serve

import (
	"crypto/rand"
	"crypto/subtle"
	"net/http"
	"strings"
	"sync"

	"toneplumb/spectrum/finding"
)

// guard admits only the browser that opened the address with the token, and from that browser only
// requests of our own page.
//
// A page from elsewhere can make a browser send requests to 127.0.0.1. Its Origin reveals that
// (RFC 6454); if a name was made to point to this machine, the Host does (RFC 9110, 7.2). A program
// of another user on this machine has no cookie.
//
// One thing is left: while the system opens the address in a browser, the token is among the
// arguments of a program, which other users can read on many systems. One of theirs that is quicker
// than the browser gets in; the browser is then refused, so the person sees it. A private file that
// leads to the address would hide it, but chromium 156 takes what a file leads to for another site
// (tried: Sec-Fetch-Site is cross-site, and a strict cookie is not sent).
//
// Cookies do not distinguish ports, so a browser may send ours to another server on this machine,
// such as another user's. Two things make it useless there: it is sent only below the page's own
// path, which cannot be guessed, and without that path it admits nobody.
type guard struct {
	address string // 127.0.0.1:port
	home    string // the path above the whole page, with slashes around it
	cookie  string // its name
	session string // its value

	lock   sync.Mutex
	tokens []token // the newest last
}

// token admits a browser, once.
type token struct {
	text  string
	spent bool
}

// maxTokens is the number of tokens kept. Our choice: nobody admits more browsers.
const maxTokens = 20

func newGuard(address string) *guard {
	port := address[strings.LastIndexByte(address, ':')+1:]
	return &guard{address: address, home: "/" + rand.Text() + "/", cookie: "toneplumb-" + port, session: rand.Text(), tokens: []token{{text: rand.Text()}}}
}

// entrance is the path in front of a token.
const entrance = "/enter/"

// newEntrance is the hint how to admit a second browser.
const newEntrance = "each address works once, for one browser; for another, press Enter in the terminal where toneplumb serve runs and open the address it prints"

// url returns the newest address.
func (g *guard) url() string {
	g.lock.Lock()
	defer g.lock.Unlock()
	return "http://" + g.address + entrance + g.tokens[len(g.tokens)-1].text
}

// renew makes and returns another address, for another browser. Earlier ones still work once.
func (g *guard) renew() string {
	g.lock.Lock()
	if g.tokens = append(g.tokens, token{text: rand.Text()}); len(g.tokens) > maxTokens {
		g.tokens = g.tokens[1:]
	}
	g.lock.Unlock()
	return g.url()
}

// around returns a handler that passes admitted requests on to next.
func (g *guard) around(next http.Handler) http.Handler {
	inside := http.StripPrefix(strings.TrimSuffix(g.home, "/"), next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
		switch {
		case r.Host != g.address && r.Host != g.named():
			refuseTo(w, r, finding.NotLetIn, http.StatusForbidden, "this page is only for this machine", "open the address that toneplumb serve printed")
		case !g.ours(r):
			refuseTo(w, r, finding.NotLetIn, http.StatusForbidden, "another page asked for this", "close that page and open the address that toneplumb serve printed")
		case strings.HasPrefix(r.URL.Path, entrance):
			g.enter(w, r)
		case !g.athome(r) || !g.known(r):
			refuseTo(w, r, finding.NotLetIn, http.StatusForbidden, "this browser was not let in", newEntrance)
		default:
			inside.ServeHTTP(w, r)
		}
	})
}

// named returns the address with this machine's other name.
func (g *guard) named() string { return strings.Replace(g.address, "127.0.0.1", "localhost", 1) }

// ours reports whether our own page, or a person directly, sent the request. Requests that change
// something must name our origin; requests that only read may name none.
func (g *guard) ours(r *http.Request) bool {
	if site := r.Header.Get("Sec-Fetch-Site"); site != "" && site != "same-origin" && site != "none" { // W3C Fetch Metadata
		return false
	}
	origin := r.Header.Get("Origin")
	if origin == "" {
		return r.Method == http.MethodGet || r.Method == http.MethodHead
	}
	return origin == "http://"+r.Host
}

// enter exchanges the token for the page's path and a cookie. A browser that already has the cookie
// may enter again.
func (g *guard) enter(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodGet {
		refuseTo(w, r, finding.PageOutOfDate, http.StatusMethodNotAllowed, "this cannot be done here", "open the address in a browser")
		return
	}
	token := strings.TrimPrefix(r.URL.Path, entrance)
	if !g.spend(token, g.known(r)) {
		refuseTo(w, r, finding.NotLetIn, http.StatusForbidden, "this address was used already, or is not the one that was printed", newEntrance)
		return
	}
	for _, path := range []string{g.home, entrance + token} {
		http.SetCookie(w, &http.Cookie{Name: g.cookie, Value: g.session, Path: path, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	}
	http.Redirect(w, r, g.home, http.StatusSeeOther)
}

// spend reports whether a token admits: the first time, and later only for a browser that is
// already admitted.
func (g *guard) spend(text string, known bool) bool {
	g.lock.Lock()
	defer g.lock.Unlock()
	opens := false
	for i := range g.tokens {
		if t := &g.tokens[i]; same(text, t.text) && (known || !t.spent) {
			t.spent, opens = true, true
		}
	}
	return opens
}

// athome reports whether the request is for the page's path or below.
func (g *guard) athome(r *http.Request) bool {
	return len(r.URL.Path) >= len(g.home) && same(r.URL.Path[:len(g.home)], g.home)
}

// known reports whether the request has the cookie.
func (g *guard) known(r *http.Request) bool {
	c, err := r.Cookie(g.cookie)
	return err == nil && same(c.Value, g.session)
}

// same compares in constant time.
func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }
