package serve

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"strconv"
	"time"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
)

// receive stores an uploaded file: the body of the request, with its name in the query.
func (s *Server) receive(w http.ResponseWriter, r *http.Request) error {
	query := r.URL.Query()
	name := query.Get("name")
	tooLarge := refusalOf(finding.TooLarge, http.StatusRequestEntityTooLarge, nameOf(name), "is larger than 2 GB", "bounce only the song itself, or as FLAC")
	if r.ContentLength > s.uploads.largest {
		w.Header().Set("Connection", "close") // do not read the rest
		return tooLarge
	}
	number, _ := strconv.Atoi(query.Get("number")) // without it the last
	rec, err := s.uploads.add(s.ctx, name, query.Get("role"), number)
	if err != nil {
		return err
	}
	rec.note = decodedNote(query)
	if err := s.uploads.store(rec, w, r); err != nil {
		s.uploads.remove(rec)
		w.Header().Set("Connection", "close")
		var limit *http.MaxBytesError
		var full *os.PathError
		switch {
		case errors.As(err, &limit):
			return tooLarge
		case errors.As(err, &full):
			return refusalOf(finding.System, http.StatusInsufficientStorage, rec.name, fmt.Sprintf("cannot be kept: %s", full.Err), "make room on the disk and drop it again")
		}
		return refusalOf(finding.NotArrived, http.StatusBadRequest, rec.name, "did not arrive whole", "drop it again")
	}
	s.uploads.measure(rec)
	return writeJSON(w, http.StatusCreated, map[string]string{"id": rec.id})
}

// decodedNote returns a note that the browser decoded the recording, with its rate; nil if not.
func decodedNote(query url.Values) *audio.Remark {
	var hz float64
	if _, err := fmt.Sscanf(query.Get("decoded_hz"), "%g", &hz); err != nil || !(hz >= 8000 && hz <= 768000) {
		return nil
	}
	return &audio.Remark{Kind: codec.DecodedByBrowser, Count: int64(hz)}
}

// store writes the body to the private folder. Errors of the disk are *[os.PathError].
func (s *uploads) store(rec *recording, w http.ResponseWriter, r *http.Request) error {
	file, err := os.OpenFile(rec.path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	body := &idleReader{ctx: rec.ctx, body: http.MaxBytesReader(w, r.Body, s.largest), connection: http.NewResponseController(w)}
	sum := sha256.New()
	_, err = io.Copy(io.MultiWriter(file, sum), body)
	rec.sum = hex.EncodeToString(sum.Sum(nil))
	if e := file.Close(); err == nil {
		err = e
	}
	return err
}

// idleReader reads a body and gives up when nothing arrives for idleSec.
type idleReader struct {
	ctx        context.Context
	body       io.Reader
	connection *http.ResponseController
}

func (l *idleReader) Read(p []byte) (int, error) {
	if err := l.ctx.Err(); err != nil {
		return 0, err
	}
	l.connection.SetReadDeadline(time.Now().Add(idleSec * time.Second)) // not every connection supports it
	return l.body.Read(p)
}
