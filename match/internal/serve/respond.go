package serve

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log"
	"net/http"

	"toneplumb/match/job"
	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// userError is an error for a person: what happened, and what to do.
type userError struct {
	Kind finding.ErrorKind `json:"code"`
	What string            `json:"what"`
	Hint string            `json:"hint"`

	// Problem is What without the name of the file it is about, to be written beside that; "" if it is about none.
	Problem string `json:"problem,omitempty"`

	// BrowserMay reports whether another decoder, such as the browser's, may read the file.
	BrowserMay bool `json:"browser_may,omitempty"`

	status int // of HTTP; 0: 422
}

func (t *userError) Error() string { return t.What }

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
		return &userError{Kind: a.Kind, What: named.Error(), Hint: named.Hint, Problem: a.Problem, BrowserMay: a.OtherDecoder()}
	}
	var f *job.Failure
	if errors.As(err, &f) {
		return &userError{Kind: f.Kind, What: f.What, Hint: f.Hint}
	}
	what := err.Error()
	var p *fs.PathError
	if errors.As(err, &p) { // do not show the private folder
		what = "a file here cannot be used: " + p.Err.Error()
	}
	return &userError{Kind: finding.AnyKindOf(err), What: what, Hint: "try again; if it stays, start toneplumb serve again"}
}

// refusal returns an error to answer with.
func refusal(kind finding.ErrorKind, status int, what, hint string) error {
	return &userError{Kind: kind, What: what, Hint: hint, status: status}
}

// refusalOf returns a refusal of one file.
func refusalOf(kind finding.ErrorKind, status int, name, problem, hint string) error {
	return &userError{Kind: kind, What: fmt.Sprintf("%q %s", name, problem), Problem: problem, Hint: hint, status: status}
}

// handler answers a request, or returns why not.
type handler func(w http.ResponseWriter, r *http.Request) error

// ServeHTTP implements [http.Handler].
func (h handler) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if err := h(w, r); err != nil {
		why := userErrorOf(err, "")
		writeJSON(w, cmp.Or(why.status, http.StatusUnprocessableEntity), why)
	}
}

// withID returns a handler for what get finds by the id in the path.
func withID[T any](get func(id string) *T, what, hint string, next func(http.ResponseWriter, *http.Request, *T) error) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		if x := get(r.PathValue("id")); x != nil {
			return next(w, r, x)
		}
		return refusal(finding.PageOutOfDate, http.StatusNotFound, what, hint)
	}
}

// decode reads the JSON document in a request.
func decode(w http.ResponseWriter, r *http.Request, document any) error {
	raw, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxRequestBytes))
	if err == nil {
		err = json.Unmarshal(raw, document)
	}
	if err != nil {
		return refusal(finding.PageOutOfDate, http.StatusBadRequest, "the page asked in a way that cannot be read", "reload the page")
	}
	return nil
}

// refuseTo answers with an error: as a page if a person opened the address in a browser (W3C Fetch
// Metadata, Sec-Fetch-Mode), else as JSON.
func refuseTo(w http.ResponseWriter, r *http.Request, kind finding.ErrorKind, status int, what, hint string) {
	html, policy, err := page.Refusal(what, hint)
	if err != nil || r.Header.Get("Sec-Fetch-Mode") != "navigate" {
		writeJSON(w, status, &userError{Kind: kind, What: what, Hint: hint})
		return
	}
	writePage(w, status, html, policy)
}

// writePage answers with a page and its Content-Security-Policy.
func writePage(w http.ResponseWriter, status int, html []byte, policy string) {
	w.Header().Set("Content-Security-Policy", policy)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	w.Write(html)
}

// writeJSON answers with one JSON document. An error means that the browser is gone.
func writeJSON(w http.ResponseWriter, status int, document any) error {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.WriteHeader(status)
	out := json.NewEncoder(w)
	out.SetEscapeHTML(false) // a chart has thousands of <, and the type is not HTML
	return out.Encode(document)
}

// quiet discards net/http's messages about cut connections, which nobody can act on.
func quiet() *log.Logger { return log.New(io.Discard, "", 0) }
