package serve

import (
	"bytes"
	"context"
	"crypto/rand"
	"fmt"
	"io"
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
	"toneplumb/spectrum/measure/profile"
)

// exportKinds are what can be taken away: the name's end, the kind of file, whether the
// recordings are read for it, and what writes it to a path.
var exportKinds = map[string]struct {
	kind  string
	reads bool
	write func(context.Context, *request, *match.Result, io.Writer) error
}{
	"chart.png": {"image/png", false, func(_ context.Context, _ *request, r *match.Result, w io.Writer) error {
		return report.Chart(w, r, report.ChartOptions{WidthPx: 1350, HeightPx: 990, DPI: 150})
	}},
	"handout.pdf": {"application/pdf", false, func(_ context.Context, _ *request, r *match.Result, w io.Writer) error {
		return report.Handout(w, report.HandoutOptions{}, r)
	}},
	"settings.json": {"application/json", false, func(_ context.Context, _ *request, r *match.Result, w io.Writer) error {
		return report.Settings(w, r)
	}},
	"page.html": {"text/html; charset=utf-8", true, func(ctx context.Context, a *request, r *match.Result, w io.Writer) error {
		return a.writePage(ctx, r, w)
	}},
	"profile.json": {"application/json", false, func(_ context.Context, a *request, _ *match.Result, w io.Writer) error {
		return a.writeProfile(w)
	}},
	"mix.wav": {"audio/wav", true, nil}, // by writeMix, since it is long
}

// exportFiles are the files that were made to be taken away, by id.
type exportFiles struct {
	folder string
	lock   sync.Mutex
	order  []string
	files  map[string]exportFile
}

type exportFile struct{ path, name, kind string }

// keptExports files are kept. Our choice: a download starts at once, and a rendered mix
// may have a gigabyte.
const keptExports = 8

// add makes a place for a file and drops the oldest.
func (t *exportFiles) add(name, kind string) (id string, f exportFile) {
	t.lock.Lock()
	defer t.lock.Unlock()
	if t.files == nil {
		t.files = map[string]exportFile{}
	}
	id = rand.Text()
	f = exportFile{filepath.Join(t.folder, "export-"+id), name, kind}
	t.files[id] = f
	if t.order = append(t.order, id); len(t.order) > keptExports {
		os.Remove(t.files[t.order[0]].path)
		delete(t.files, t.order[0])
		t.order = t.order[1:]
	}
	return id, f
}

func (t *exportFiles) get(id string) (exportFile, bool) {
	t.lock.Lock()
	defer t.lock.Unlock()
	f, found := t.files[id]
	return f, found
}

// export makes a file and answers with the address it can be had from.
func (s *Server) export(w http.ResponseWriter, r *http.Request, a *request) {
	name := r.PathValue("name")
	what, known := exportKinds[name]
	if !known {
		refuse(w, http.StatusNotFound, fmt.Sprintf("there is no %q to take away", name), "reload the page")
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
	places := s.quick
	if what.reads {
		places = s.uploads.free
	}
	s.respond(places, func(ctx context.Context, a *request) (any, error) {
		asked, err := s.results.findWhole(ctx, a)
		if err != nil {
			return nil, err
		}
		id, file := s.files.add(title, what.kind)
		if what.write == nil {
			err = a.writeMix(ctx, asked.Result, file.path)
		} else {
			var content bytes.Buffer
			if err = what.write(ctx, a, asked.Result, &content); err == nil {
				err = os.WriteFile(file.path, content.Bytes(), 0o600)
			}
		}
		if err != nil {
			os.Remove(file.path)
			return nil, userErrorOf(err, a.mix.name)
		}
		return map[string]string{"path": "exports/" + id, "name": title}, nil
	})(w, r, a)
}

// download hands a file out.
func (s *Server) download(w http.ResponseWriter, r *http.Request) {
	f, found := s.files.get(r.PathValue("id"))
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
func (a *request) writePage(ctx context.Context, r *match.Result, w io.Writer) error {
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
	return page.Write(ctx, w, r, sound)
}

// writeProfile writes the references without their sound.
func (a *request) writeProfile(w io.Writer) error {
	var all []profile.Profile
	for _, ref := range a.references {
		all = append(all, ref.entries)
	}
	p, err := profile.Merge(all...)
	if err != nil {
		return err
	}
	return p.Write(w, measure.BlockSec)
}

// writeMix writes the mix through the moves, as loud as it was.
func (a *request) writeMix(ctx context.Context, r *match.Result, goal string) error {
	if err := a.hasSound(); err != nil {
		return err
	}
	open := func() (audio.Source, error) { return a.mix.keeper.Open(ctx, a.mix.path) }
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
