package serve

import (
	"bytes"
	"context"
	"crypto/rand"
	"fmt"
	"mime"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"toneplumb/match"
	"toneplumb/match/listen"
	"toneplumb/match/page"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// takes are what can be taken away: the name's end, the kind of file, and what writes
// it. The mix as sound is written apart, since it is long.
var takes = map[string]struct {
	kind  string
	write func(context.Context, *ask, *match.Result, *bytes.Buffer) error
}{
	"chart.png": {"image/png", func(_ context.Context, _ *ask, r *match.Result, w *bytes.Buffer) error {
		return report.Chart(w, r, report.Look{WidthPx: 1350, HeightPx: 990, DPI: 150})
	}},
	"handout.pdf": {"application/pdf", func(_ context.Context, _ *ask, r *match.Result, w *bytes.Buffer) error {
		return report.Handout(w, report.HandoutLook{}, r)
	}},
	"settings.json": {"application/json", func(_ context.Context, _ *ask, r *match.Result, w *bytes.Buffer) error {
		return report.JSON(w, r)
	}},
	"page.html": {"text/html; charset=utf-8", func(ctx context.Context, a *ask, r *match.Result, w *bytes.Buffer) error {
		return a.writePage(ctx, r, w)
	}},
	"profile.json": {"application/json", func(_ context.Context, a *ask, _ *match.Result, w *bytes.Buffer) error { return a.writeProfile(w) }},
	"mix.wav":      {"audio/wav", nil},
}

// taken are the files that were made to be taken away, by id.
type taken struct {
	folder string
	lock   sync.Mutex
	order  []string
	files  map[string]takenFile
}

type takenFile struct{ path, name, kind string }

// keptTaken files are kept. Our choice: a download starts at once, and a rendered mix
// may have a gigabyte.
const keptTaken = 8

// add makes a place for a file and drops the oldest.
func (t *taken) add(name, kind string) (id string, f takenFile) {
	t.lock.Lock()
	defer t.lock.Unlock()
	if t.files == nil {
		t.files = map[string]takenFile{}
	}
	id = rand.Text()
	f = takenFile{filepath.Join(t.folder, "take-"+id), name, kind}
	t.files[id] = f
	if t.order = append(t.order, id); len(t.order) > keptTaken {
		os.Remove(t.files[t.order[0]].path)
		delete(t.files, t.order[0])
		t.order = t.order[1:]
	}
	return id, f
}

func (t *taken) get(id string) (takenFile, bool) {
	t.lock.Lock()
	defer t.lock.Unlock()
	f, found := t.files[id]
	return f, found
}

// take makes a file and answers with the address it can be had from.
func (s *Server) take(w http.ResponseWriter, r *http.Request, a *ask) {
	name := r.PathValue("name")
	what, known := takes[name]
	if !known {
		refuse(w, http.StatusNotFound, fmt.Sprintf("there is no %q to take away", name), "reload the page")
		return
	}
	asked, err := s.book.find(a)
	if err != nil {
		answer(w, http.StatusUnprocessableEntity, troubleOf(err, ""))
		return
	}
	stem := strings.TrimSuffix(a.mix.name, filepath.Ext(a.mix.name))
	if stem == "" {
		stem = "mix"
	}
	title := stem + " " + name
	if name == "mix.wav" {
		title = stem + " through the moves.wav"
	}
	id, file := s.taken.add(title, what.kind)
	if what.write == nil {
		err = a.hasSound()
		if err == nil {
			err = s.shelf.inTurn(r.Context(), func() error { return a.writeMix(r.Context(), asked.Result, file.path) })
		}
	} else {
		var content bytes.Buffer
		if err = what.write(r.Context(), a, asked.Result, &content); err == nil {
			err = os.WriteFile(file.path, content.Bytes(), 0o600)
		}
	}
	if err != nil {
		os.Remove(file.path)
		answer(w, http.StatusUnprocessableEntity, troubleOf(err, a.mix.name))
		return
	}
	answer(w, http.StatusOK, map[string]string{"path": "/taken/" + id, "name": title})
}

// download hands a file out.
func (s *Server) download(w http.ResponseWriter, r *http.Request) {
	f, found := s.taken.get(r.PathValue("id"))
	if !found {
		refuse(w, http.StatusNotFound, "this file is no longer here", "take it away again")
		return
	}
	w.Header().Set("Content-Type", f.kind)
	w.Header().Set("Content-Disposition", attachment(f.name))
	http.ServeFile(w, r, f.path)
}

// attachment is a Content-Disposition (RFC 6266) whose name is in plain letters, and in
// all of them as RFC 5987 has it.
func attachment(name string) string {
	plain := strings.Map(func(c rune) rune {
		if c < ' ' || c > '~' || strings.ContainsRune(`"\/:*?<>|%`, c) {
			return '_'
		}
		return c
	}, name)
	whole := strings.ReplaceAll(url.QueryEscape(strings.Map(func(c rune) rune {
		if strings.ContainsRune(`"\/:*?<>|`, c) {
			return '_'
		}
		return c
	}, name)), "+", "%20")
	return mime.FormatMediaType("attachment", map[string]string{"filename": plain}) + "; filename*=UTF-8''" + whole
}

// writePage writes the page with mix and reference to be heard.
func (a *ask) writePage(ctx context.Context, r *match.Result, w *bytes.Buffer) error {
	sound, err := page.Cut(ctx, func(of *measure.Recording) (audio.Source, error) {
		rec := a.recordingOf(of)
		if rec == nil {
			rec = a.mix // taken back: a table of its own
		}
		return audio.Open(ctx, rec.path)
	}, r, a.earlier, "The reference’s sound is not in this page, since it is its makers’ work.")
	if err != nil {
		return err
	}
	return page.Write(w, r, sound)
}

// writeProfile writes the references without their sound.
func (a *ask) writeProfile(w *bytes.Buffer) error {
	var all []measure.Profile
	for _, ref := range a.references {
		all = append(all, ref.entries)
	}
	p, err := measure.Merge(all...)
	if err != nil {
		return err
	}
	return p.Write(w, measure.BlockSec)
}

// writeMix writes the mix through the moves, as loud as it was.
func (a *ask) writeMix(ctx context.Context, r *match.Result, goal string) error {
	open := func() (audio.Source, error) { return audio.Open(ctx, a.mix.path) }
	src, err := open()
	if err != nil {
		return err
	}
	plan, err := listen.NewPlan(ctx, src, r.Settings(), a.mix.name, nil)
	src.Close()
	if err != nil {
		return err
	}
	out, err := plan.Create(goal)
	if err != nil {
		return err
	}
	defer out.Abort()
	if src, err = open(); err != nil {
		return err
	}
	defer src.Close()
	if err := plan.Write(ctx, src, a.mix.name, out); err != nil {
		return err
	}
	return out.Close()
}
