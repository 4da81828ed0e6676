package serve

import (
	"encoding/hex"
	"net/http"
	"os"
	"path/filepath"

	"toneplumb/examples/demo"
	"toneplumb/match/page"
	"toneplumb/spectrum/audio"
)

func (s *Server) page(w http.ResponseWriter, r *http.Request) error {
	html, policy, err := page.Served()
	if err == nil {
		writePage(w, http.StatusOK, html, policy)
	}
	return err
}

// demo adds the demo's recordings to the uploads and answers with their ids at once; they are
// made and measured in the background.
func (s *Server) demo(w http.ResponseWriter, r *http.Request) error {
	var ids []string
	var both []*recording
	s.uploads.unassign()
	for i, piece := range []*demo.Piece{demo.RoughMix(), demo.Finished()} {
		rec, err := s.uploads.add(s.ctx, piece.FileName, []string{asMix, asReference}[i], 0)
		if err != nil {
			for _, rec := range both {
				s.uploads.remove(rec)
			}
			return err
		}
		ids, both = append(ids, rec.id), append(both, rec)
	}
	s.uploads.work.Go(func() {
		// One folder for both, whose files then take the recordings' places.
		err := s.uploads.free.do(s.ctx, func() error { return s.makeDemo(both) })
		for _, rec := range both {
			if err != nil {
				rec.cancel()
				rec.fail(err)
				continue
			}
			s.uploads.measure(rec)
		}
	})
	return writeJSON(w, http.StatusCreated, map[string][]string{"ids": ids})
}

func (s *Server) makeDemo(both []*recording) error {
	dir, err := os.MkdirTemp(s.folder, "demo-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	mix, ref, err := demo.Write(s.ctx, dir, func(done float64) {
		for _, rec := range both {
			rec.making.Store(int64(1000 * done))
		}
	})
	if err != nil {
		return err
	}
	for i, path := range []string{mix, ref} {
		sum, err := audio.SHA256(s.ctx, path)
		if err != nil {
			return err
		}
		both[i].sum = hex.EncodeToString(sum)
		if err := os.Rename(path, filepath.Join(s.folder, both[i].id)); err != nil {
			return err
		}
	}
	return nil
}
