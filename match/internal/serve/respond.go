package serve

import (
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"log"
	"net/http"

	"toneplumb/match/job"
	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
)

// userError is an error for a person: what happened, and what to do.
type userError struct {
	What string `json:"what"`
	Hint string `json:"hint"`

	// BrowserMay reports whether another decoder, such as the browser's, may read the file.
	BrowserMay bool `json:"browser_may,omitempty"`
}

func (t *userError) Error() string { return t.What }

// HintOf returns what to do about an error of this package, "" if it has no hint.
func HintOf(err error) string {
	var t *userError
	if errors.As(err, &t) {
		return t.Hint
	}
	return ""
}

// userErrorOf words an error as the command line does. name is the file's original name, "" if none.
func userErrorOf(err error, name string) *userError {
	var t *userError
	if errors.As(err, &t) {
		return t
	}
	var a *audio.Error
	if errors.As(err, &a) {
		named := *a
		if name != "" {
			named.Path = report.Printable(name)
		}
		return &userError{What: named.Error(), Hint: named.Hint, BrowserMay: a.OtherDecoder()}
	}
	var f *job.Failure
	if errors.As(err, &f) {
		return &userError{What: f.What, Hint: f.Hint}
	}
	what := err.Error()
	var p *fs.PathError
	if errors.As(err, &p) { // do not show the private folder
		what = "a file here cannot be used: " + p.Err.Error()
	}
	return &userError{What: what, Hint: "try again; if it stays, start toneplumb serve again"}
}

// refuse answers with an error.
func refuse(w http.ResponseWriter, status int, what, hint string) {
	writeJSON(w, status, &userError{What: what, Hint: hint})
}

// refuseTo answers with an error: as a page if a person opened the address in a browser (W3C Fetch
// Metadata, Sec-Fetch-Mode), else as JSON.
func refuseTo(w http.ResponseWriter, r *http.Request, status int, what, hint string) {
	if r.Header.Get("Sec-Fetch-Mode") != "navigate" {
		refuse(w, status, what, hint)
		return
	}
	html, policy, err := page.Refusal(what, hint)
	if err != nil {
		refuse(w, status, what, hint)
		return
	}
	w.Header().Set("Content-Security-Policy", policy)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(html)
}

// writeJSON answers with one JSON document.
func writeJSON(w http.ResponseWriter, status int, document any) {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.WriteHeader(status)
	out := json.NewEncoder(w)
	out.SetEscapeHTML(false) // a chart has thousands of <, and the type is not HTML
	out.Encode(document)     // an error means that the browser is gone
}

// quiet discards net/http's messages about cut connections, which nobody can act on.
func quiet() *log.Logger { return log.New(io.Discard, "", 0) }
