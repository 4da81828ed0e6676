package serve

import (
	"bytes"
	"context"
	"crypto/rand"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"os"
	"strconv"
	"sync"
	"sync/atomic"

	"toneplumb/match/artefact"
	"toneplumb/match/job"
	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/spectrum/finding"
)

// outcome is the result of a view: what it shows, and the files for download. Files and pictures are
// made on request.
type outcome struct {
	Headline string         `json:"headline"`
	InWords  string         `json:"in_words"` // description of the pictures; "": there are none
	Panels   []int          `json:"panels"`   // for how many panels, one under another, each picture needs room
	Blocks   []report.Block `json:"blocks"`
	Files    []takeAway     `json:"files"`

	Equaliser json.RawMessage `json:"equaliser"` // a learnt description; null: none
	Together  []string        `json:"together"`  // ids of the references that the headline names; null: none or all

	Plays bool `json:"plays"` // there is a player

	picture func(w io.Writer, of int, look report.ChartOptions) error // writes a picture as an SVG
	play    func(context.Context) (*page.Player, []page.Stored, []string, error)
	reading func(of int, look report.ChartOptions) (*report.Reading, error)
}

// takeAway is a file for download.
type takeAway struct {
	Name string `json:"name"`
	Form string `json:"form"` // the text of its button
	Slow bool   `json:"slow"` // it is made on disk, by render, before it can be downloaded

	mime   string
	sound  bool // recordings are read for it
	write  func(context.Context, io.Writer) error
	render func(ctx context.Context, goal string) error
}

// filesOf returns all forms of an outcome as files whose names begin with stem.
func filesOf[T any](stem string, forms artefact.Formats[T], value T) []takeAway {
	style := artefact.DefaultStyle()
	var files []takeAway
	for _, form := range forms {
		files = append(files, takeAway{Name: stem + form.Extension, Form: formWords[form.Extension], mime: form.MIME(), sound: form.Sound,
			write: func(ctx context.Context, w io.Writer) error { return form.Write(ctx, w, value, style) }})
	}
	return files
}

// formWords are the texts of the buttons, by extension.
var formWords = map[string]string{
	".png": "Picture (PNG)", ".svg": "Picture (SVG)", ".pdf": "Pages (PDF)", ".html": "Page, to keep (HTML)",
	".json": "All figures (JSON)", ".csv": "Table (CSV)", ".txt": "Text",
}

// task is a view's work in the background.
type task struct {
	id, view string
	about    []string // ids of the recordings
	cancel   context.CancelFunc
	done, of atomic.Int64

	lock    sync.Mutex // for what follows
	state   string     // waiting, working, ready or failed
	failure *userError
	outcome *outcome
}

const working = "working"

// taskState is what the page knows about a task.
type taskState struct {
	ID      string        `json:"id"`
	View    string        `json:"view"`
	State   string        `json:"state"`
	Done    report.Number `json:"done"` // 0 to 1; null if unknown
	Trouble *userError    `json:"trouble"`
	Outcome *outcome      `json:"outcome"`
}

func (t *task) status() taskState {
	t.lock.Lock()
	defer t.lock.Unlock()
	return taskState{t.id, t.view, t.state, report.Number(float64(t.done.Load()) / float64(t.of.Load())), t.failure, t.outcome}
}

func (t *task) found() *outcome {
	t.lock.Lock()
	defer t.lock.Unlock()
	return t.outcome
}

// tasks holds the tasks by id.
type tasks struct {
	cache[*task]
	work sync.WaitGroup
}

// begin starts a view's work and answers with its id at once.
func (s *Server) begin(w http.ResponseWriter, r *http.Request) error {
	name := r.PathValue("view")
	v, known := views[name]
	if !known {
		return refusal(finding.PageOutOfDate, http.StatusNotFound, "there is no such view", "reload the page")
	}
	q := &viewRequest{}
	if err := decode(w, r, q); err != nil {
		return err
	}
	if err := s.prepareView(q, v.needs); err != nil {
		return err
	}
	if s.tasks.full() {
		return refusal(finding.TooLarge, http.StatusTooManyRequests, "too many answers are being worked out already", "wait until some are done")
	}
	t := &task{id: rand.Text(), view: name, about: q.ids(), state: waiting}
	ctx, cancel := context.WithCancel(s.ctx)
	t.cancel = cancel
	s.tasks.put(t.id, t)
	s.tasks.work.Go(func() {
		defer cancel()
		places := s.quick
		if v.long {
			places = s.uploads.free
		}
		var found *outcome
		err := places.do(ctx, func() (err error) {
			t.lock.Lock()
			t.state = working
			t.lock.Unlock()
			var left sync.WaitGroup
			defer s.waitFor(&left) // also after a panic
			found, err = v.run(s, job.WithLeft(ctx, &left), q, t)
			return err
		})
		t.lock.Lock()
		defer t.lock.Unlock()
		t.state, t.outcome = ready, found
		if err != nil {
			t.state, t.failure = failed, userErrorOf(err, "")
		}
	})
	return writeJSON(w, http.StatusCreated, map[string]string{"id": t.id})
}

// waitFor waits for what a cancelled task has left behind, which works on in its place, unless the
// server stops.
func (s *Server) waitFor(left *sync.WaitGroup) {
	ended := make(chan struct{})
	go func() {
		left.Wait()
		close(ended)
	}()
	select {
	case <-ended:
	case <-s.ctx.Done():
	}
}

func (s *Server) ofTask(next func(http.ResponseWriter, *http.Request, *task) error) handler {
	get := func(id string) *task {
		t, _ := s.tasks.get(id)
		return t
	}
	return withID(get, "this answer is no longer here", "ask for it again", next)
}

func (s *Server) getTask(w http.ResponseWriter, r *http.Request, t *task) error {
	return writeJSON(w, http.StatusOK, t.status())
}

func (s *Server) endTask(w http.ResponseWriter, r *http.Request, t *task) error {
	s.tasks.forget(func(_ string, other *task) bool { return other == t })
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// dotsPerPx are the dots of a picture per CSS pixel. pictureDPI makes its letters as large as in the
// page's own chart. Our choice, by eye. leastIn is the smallest width of a figure in inches.
const dotsPerPx, pictureDPI, leastIn = 2, 2 * 92, 4.1

// lookOf returns which picture is asked for and how it is to look; the width and height in the query
// are in CSS pixels.
func (o *outcome) lookOf(query url.Values) (of int, look report.ChartOptions, ok bool) {
	if of, _ = strconv.Atoi(query.Get("of")); o == nil || of < 0 || of >= len(o.Panels) { // without it the first
		return of, look, false
	}
	width, err1 := strconv.Atoi(query.Get("width"))
	height, err2 := strconv.Atoi(query.Get("height"))
	look = report.ChartOptions{WidthPx: dotsPerPx * width, HeightPx: dotsPerPx * height, Dark: query.Has("dark"), Bare: true, Steady: true}
	look.DPI = min(pictureDPI, float64(look.WidthPx)/leastIn)
	return of, look, err1 == nil && err2 == nil && look.Check() == nil
}

// getReading answers with what a picture says at each frequency; places are in CSS pixels.
func (s *Server) getReading(w http.ResponseWriter, r *http.Request, t *task) error {
	found := t.found()
	of, look, ok := found.lookOf(r.URL.Query())
	if !ok {
		return refusal(finding.PageOutOfDate, http.StatusNotFound, "there is no such picture", "reload the page")
	}
	reading, err := found.reading(of, look)
	if err != nil {
		return err
	}
	reading.LeftPx /= dotsPerPx
	reading.RightPx /= dotsPerPx
	return writeJSON(w, http.StatusOK, reading)
}

// getPicture answers with a picture of an outcome.
func (s *Server) getPicture(w http.ResponseWriter, r *http.Request, t *task) error {
	found := t.found()
	of, look, ok := found.lookOf(r.URL.Query())
	if !ok {
		return refusal(finding.PageOutOfDate, http.StatusNotFound, "there is no such picture", "reload the page")
	}
	return sendDocument(s.quick, w, r, "", "image/svg+xml", func(ctx context.Context, to io.Writer) error { return found.picture(to, of, look) })
}

// fileOf returns the file of a request's name.
func (t *task) fileOf(r *http.Request, slow bool) (takeAway, error) {
	if found := t.found(); found != nil {
		for _, f := range found.Files {
			if f.Name == r.PathValue("name") && f.Slow == slow {
				return f, nil
			}
		}
	}
	return takeAway{}, refusal(finding.PageOutOfDate, http.StatusNotFound, "this file is no longer here", "ask for it again")
}

func (s *Server) getFile(w http.ResponseWriter, r *http.Request, t *task) error {
	f, err := t.fileOf(r, false)
	if err != nil {
		return err
	}
	places := s.quick
	if f.sound {
		places = s.uploads.free
	}
	return sendDocument(places, w, r, attachment(f.Name), f.mime, f.write)
}

// makeFile makes a file that takes long and answers with its address.
func (s *Server) makeFile(w http.ResponseWriter, r *http.Request, t *task) error {
	f, err := t.fileOf(r, true)
	if err != nil {
		return err
	}
	id, file := s.addFile(f.Name, f.mime)
	if err := s.uploads.free.do(r.Context(), func() error { return f.render(r.Context(), file.path) }); err != nil {
		os.Remove(file.path)
		return err
	}
	return writeJSON(w, http.StatusOK, map[string]string{"path": "exports/" + id, "name": f.Name})
}

// sendDocument sends a document once it is complete, when there is a place. disposition is its Content-Disposition, "" for none.
func sendDocument(places limiter, w http.ResponseWriter, r *http.Request, disposition, mime string, write func(context.Context, io.Writer) error) error {
	var content bytes.Buffer
	if err := places.do(r.Context(), func() error { return write(r.Context(), &content) }); err != nil {
		return err
	}
	if disposition != "" {
		w.Header().Set("Content-Disposition", disposition)
	}
	w.Header().Set("Content-Type", mime)
	w.Write(content.Bytes()) // an error means that the browser is gone
	return nil
}
