package serve

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"testing"

	"toneplumb/match/page"
)

// commandWords are what only the command line has: options and commands. Whoever started the page has
// typed toneplumb serve.
var commandWords = regexp.MustCompile(`(^|[^-\w])--[a-z]|\beqtest\b|\beqread\b|\btoneplumb (help|measure|profile|match|check|nearest|class|tracks|render|exercise|fit|demo)\b`)

// notRead are the parts of a page that are not text: styles, scripts and drawings.
var notRead = regexp.MustCompile(`(?s)<(style|script|svg)\b.*?</(style|script|svg)>`)

// wordWatch looks for the command line's words in every text that a server sends. Every test of this
// package runs under it.
type wordWatch struct {
	http.Handler
	lock  sync.Mutex
	found []string
}

func (s *wordWatch) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	c := &copied{ResponseWriter: w}
	s.Handler.ServeHTTP(c, r)
	text := c.text()
	if at := commandWords.FindStringIndex(text); at != nil {
		s.lock.Lock()
		defer s.lock.Unlock()
		s.found = append(s.found, fmt.Sprintf("%s %s: …%s…", r.Method, r.URL.Path, text[max(0, at[0]-200):min(len(text), at[1]+100)]))
	}
}

// copied is an answer that is kept if it is text.
type copied struct {
	http.ResponseWriter
	body bytes.Buffer
}

// Unwrap is for [http.ResponseController].
func (c *copied) Unwrap() http.ResponseWriter { return c.ResponseWriter }

func (c *copied) Write(p []byte) (int, error) {
	if kind := c.Header().Get("Content-Type"); strings.HasPrefix(kind, "text/") || strings.HasPrefix(kind, "application/json") {
		c.body.Write(p)
	}
	return c.ResponseWriter.Write(p)
}

// text returns what a person may read of an answer.
func (c *copied) text() string {
	if strings.HasPrefix(c.Header().Get("Content-Type"), "text/") {
		return notRead.ReplaceAllString(c.body.String(), "")
	}
	var document any
	if json.Unmarshal(c.body.Bytes(), &document) != nil {
		return ""
	}
	var all strings.Builder
	var walk func(any)
	walk = func(x any) {
		switch x := x.(type) {
		case string:
			all.WriteString(x + "\n")
		case []any:
			for _, y := range x {
				walk(y)
			}
		case map[string]any:
			for _, y := range x {
				walk(y)
			}
		}
	}
	walk(document)
	return all.String()
}

// What the page's own scripts say names no options and commands either.
func TestScriptsInPlainWords(t *testing.T) {
	html, _, err := page.Served()
	if err != nil {
		t.Fatal(err)
	}
	code := regexp.MustCompile(`(?s)<style.*?</style>|setProperty\("--|\(--`) // of styles, and counting down
	text := code.ReplaceAllString(string(html), "")
	for _, at := range commandWords.FindAllStringIndex(text, -1) {
		t.Errorf("a script says …%s…", text[max(0, at[0]-100):min(len(text), at[1]+60)])
	}
}
