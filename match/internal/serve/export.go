package serve

import (
	"bytes"
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"mime"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"toneplumb/match"
	"toneplumb/match/artefact"
	"toneplumb/match/job"
	"toneplumb/match/page"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/profile"
)

// exportNames are the forms of a result that can be downloaded, by the end of their file names.
// artefact.Match has their writers. The references' profile and the mix through the moves are not
// forms of a result and are written here.
var exportNames = []string{"chart.png", "handout.pdf", "settings.json", "page.html"}

const profileName, mixName = "profile.json", "mix.wav"

// exportForm returns the form with a name; known reports whether there is one.
func (a *request) exportForm(name string) (form artefact.Format[*job.MatchOutcome], known bool) {
	switch {
	case name == profileName:
		return artefact.Simple(name, func(w io.Writer, _ *job.MatchOutcome) error { return a.writeProfile(w) }), true
	case name == mixName: // writeMix writes it: it is too long for a buffer
		return artefact.Format[*job.MatchOutcome]{Extension: name, Sound: true}, true
	case slices.Contains(exportNames, name):
		return artefact.Match.For(name)
	}
	return form, false
}

// exportFile is a file made for download.
type exportFile struct{ path, name, kind string }

// keptExports is the number of files kept. Our choice: a download starts at once, and a rendered
// mix may be a gigabyte.
const keptExports = 8

// addFile reserves a place for a file.
func (s *Server) addFile(name, kind string) (id string, f exportFile) {
	id = rand.Text()
	f = exportFile{filepath.Join(s.folder, "export-"+id), name, kind}
	s.files.put(id, f)
	return id, f
}

// export makes a file and answers with its address.
func (s *Server) export(w http.ResponseWriter, r *http.Request, a *request) error {
	name := r.PathValue("name")
	form, known := a.exportForm(name)
	if !known {
		return refusal(finding.PageOutOfDate, http.StatusNotFound, fmt.Sprintf("there is no %q to take away", name), "reload the page")
	}
	stem := strings.TrimSuffix(a.mix.name, filepath.Ext(a.mix.name))
	if stem == "" || a.Plain {
		stem = "mix"
	}
	title := stem + " " + name
	if name == mixName {
		title = stem + " through the moves.wav"
	}
	places := s.quick
	if form.Sound {
		places = s.uploads.free
	}
	return s.respond(places, func(ctx context.Context, a *request) (any, error) {
		asked, err := s.results.findWhole(ctx, a)
		if err != nil {
			return nil, err
		}
		id, file := s.addFile(title, form.MIME())
		if err := a.exportTo(ctx, name, form, asked.Result, file.path); err != nil {
			os.Remove(file.path)
			return nil, userErrorOf(err, a.mix.name)
		}
		return map[string]string{"path": "exports/" + id, "name": title}, nil
	})(w, r, a)
}

func (s *Server) download(w http.ResponseWriter, r *http.Request) error {
	f, found := s.files.get(r.PathValue("id"))
	if !found {
		return refusal(finding.PageOutOfDate, http.StatusNotFound, "this file is no longer here", "take it away again")
	}
	s.sendFile(w, r, f)
	return nil
}

func (s *Server) sendFile(w http.ResponseWriter, r *http.Request, f exportFile) {
	w.Header().Set("Content-Type", f.kind)
	w.Header().Set("Content-Disposition", attachment(f.name))
	http.ServeFile(w, r, f.path)
}

// attachment returns a Content-Disposition (RFC 6266); a name that is not ASCII is encoded as in
// RFC 2231, which all browsers read.
func attachment(name string) string {
	safe := strings.Map(func(c rune) rune {
		if strings.ContainsRune(`"\/:*?<>|`, c) {
			return '_'
		}
		return c
	}, name)
	return mime.FormatMediaType("attachment", map[string]string{"filename": safe})
}

func (a *request) exportTo(ctx context.Context, name string, form artefact.Format[*job.MatchOutcome], r *match.Result, path string) error {
	if name == mixName {
		return a.writeMix(ctx, r, path)
	}
	var content bytes.Buffer
	if err := a.writeForm(ctx, form, r, &content); err != nil {
		return err
	}
	return os.WriteFile(path, content.Bytes(), 0o600)
}

// writeForm writes a form of the result; for a form that plays, it reads the recordings.
func (a *request) writeForm(ctx context.Context, form artefact.Format[*job.MatchOutcome], r *match.Result, w io.Writer) (err error) {
	outcome := &job.MatchOutcome{Result: r, Previous: a.options.Previous}
	if form.Sound {
		outcome.Sound, err = page.Cut(ctx, func(of *measure.Recording) (audio.Source, error) {
			rec := a.recordingOf(of)
			if rec == nil {
				rec = a.mix // without its earlier moves the mix has a table of its own
			}
			return audio.Open(ctx, rec.path)
		}, r, a.options.Previous, page.WithoutReference)
		if err != nil {
			return err
		}
	}
	return form.Write(ctx, w, outcome, artefact.DefaultStyle())
}

// writeProfile writes the references without their sound.
func (a *request) writeProfile(w io.Writer) error {
	var all profile.Union
	for _, ref := range a.references {
		if err := all.Add(ref.input.Entries); err != nil {
			return err
		}
	}
	return all.Write(w)
}

// writeMix writes the mix through the moves, at the loudness it had.
func (a *request) writeMix(ctx context.Context, r *match.Result, goal string) error {
	if err := a.hasSound(); err != nil {
		return err
	}
	out, err := a.mix.reader().Render(ctx, a.mix.name, r.Settings(), goal, nil)
	if err != nil {
		return err
	}
	defer out.Sound.Abort()
	return out.Sound.Close()
}
