package serve

import (
	"cmp"
	"context"
	"crypto/rand"
	"fmt"
	"maps"
	"net/http"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"toneplumb/match/job"
	"toneplumb/match/report"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// Limits. Our choice: two hours of 24-bit stereo at 44.1 kHz are under 2 GB, and one page cannot
// show more than some hundred files.
const (
	MaxFileBytes  = 2 << 30 // the largest upload
	maxRecordings = 300
	idleSec       = 60 // an upload is given up when nothing arrives for so long
	maxNameRunes  = 200
)

// The states of a recording.
const (
	arriving  = "arriving"  // being uploaded
	waiting   = "waiting"   // until others are measured
	measuring = "measuring" // being read
	ready     = "ready"
	failed    = "failed"
)

// recording is a file that was dropped on the page: its sound in the private folder, its
// measurements in memory.
type recording struct {
	id, name string
	number   int             // its place in the order of the recordings
	path     string          // in the private folder, under a name of ours
	sum      string          // SHA-256 of the file, once it has arrived
	keeper   *audio.Cache    // of its sound, for repeated reading of the whole
	note     *audio.Remark   // besides the decoder's; nil: none
	ctx      context.Context // of its upload and measurement
	cancel   context.CancelFunc
	done     atomic.Int64 // frames read, out of frames; frames below 1: unknown
	frames   atomic.Int64
	making   atomic.Int64 // thousandths of a demo synthesised

	lock    sync.Mutex // for what follows
	state   string
	role    string
	next    string // the role it takes once it is measured; "": it stays as it is
	placing trackPlacing
	failure *userError
	input   job.Input // as measured
}

// uploads holds the recordings.
type uploads struct {
	folder  string
	largest int64   // largest file in bytes
	free    limiter // for reading whole recordings
	work    sync.WaitGroup

	lock sync.Mutex
	all  map[string]*recording
	seq  int // the highest number
}

func newUploads(folder string, free limiter) *uploads {
	return &uploads{folder: folder, largest: MaxFileBytes, free: free, all: map[string]*recording{}}
}

// get returns the recording with an id, nil if there is none.
func (s *uploads) get(id string) *recording {
	s.lock.Lock()
	defer s.lock.Unlock()
	return s.all[id]
}

// add makes a recording for a file to come. Its name is only for display. number is its place in the
// order of the recordings, since several may arrive in any order; below 1: after all others.
func (s *uploads) add(ctx context.Context, name, role string, number int) (*recording, error) {
	s.lock.Lock()
	defer s.lock.Unlock()
	if len(s.all) >= maxRecordings {
		return nil, refusal(finding.TooLarge, http.StatusTooManyRequests, fmt.Sprintf("%d recordings are here already", maxRecordings), "remove some first")
	}
	ctx, cancel := context.WithCancel(ctx)
	r := &recording{id: rand.Text(), name: nameOf(name), state: arriving, ctx: ctx, cancel: cancel}
	r.path = filepath.Join(s.folder, r.id)
	r.keeper = audio.NewCache(r.path)
	r.keeper.Folder = s.folder
	if number < 1 {
		number = s.seq + 1
	}
	r.number, s.seq = number, max(s.seq, number)
	r.role = notUsed
	s.all[r.id] = r
	s.assign(r, role)
	return r, nil
}

// list returns the recordings in their order.
func (s *uploads) list() []*recording {
	s.lock.Lock()
	defer s.lock.Unlock()
	return slices.SortedFunc(maps.Values(s.all), func(a, b *recording) int { return cmp.Or(a.number-b.number, strings.Compare(a.id, b.id)) })
}

// remove removes a recording, whatever its state.
func (s *uploads) remove(r *recording) {
	s.lock.Lock()
	delete(s.all, r.id)
	s.lock.Unlock()
	r.cancel()
	r.keeper.Close()
	os.Remove(r.path)
}

// close waits for all reading, so that the files can be removed.
func (s *uploads) close() {
	s.work.Wait()
	for _, r := range s.list() {
		r.keeper.Close()
	}
}

// nameOf returns the last part of a file name as sent by a browser on any system, made printable.
func nameOf(given string) string {
	name := path.Base(strings.ReplaceAll(given, "\\", "/"))
	name = report.Printable(strings.ToValidUTF8(name, "�"))
	if runes := []rune(name); len(runes) > maxNameRunes {
		name = string(runes[:maxNameRunes])
	}
	if strings.Trim(name, "./ ") == "" {
		return "without a name"
	}
	return name
}

// measure measures a recording in the background when there is a place.
func (s *uploads) measure(rec *recording) {
	rec.set(waiting)
	s.work.Go(func() {
		defer rec.cancel()
		err := s.free.do(rec.ctx, func() error {
			rec.set(measuring)
			if err := rec.read(); err != nil {
				return err
			}
			s.settle(rec) // while it has its place: what waits begins after it
			return nil
		})
		if err != nil {
			os.Remove(rec.path)
			rec.fail(err)
		}
	})
}

func (rec *recording) fail(err error) {
	rec.lock.Lock()
	defer rec.lock.Unlock()
	rec.state, rec.next, rec.failure = failed, "", userErrorOf(err, rec.name)
}

func (rec *recording) now() string {
	rec.lock.Lock()
	defer rec.lock.Unlock()
	return rec.state
}

func (rec *recording) set(state string) {
	rec.lock.Lock()
	defer rec.lock.Unlock()
	rec.state = state
}

// read measures the recording, or reads it if it is a profile.
func (rec *recording) read() error {
	reader := job.Reader{Watch: func(src audio.Source, _ string) audio.Source {
		rec.frames.Store(src.Format().Frames)
		return &counted{src, &rec.done}
	}}
	in, err := reader.ReadAs(rec.ctx, rec.path, rec.name)
	if err != nil {
		return err
	}
	if !in.IsProfile {
		in.Entries[0].SHA256 = rec.sum
		if rec.note != nil {
			table := in.Entries[0].Recording
			table.Warnings = append(table.Warnings, *rec.note)
		}
	}
	rec.lock.Lock()
	defer rec.lock.Unlock()
	rec.input = in
	return nil
}

// counted is a source that adds the frames read to done.
type counted struct {
	audio.Source
	done *atomic.Int64
}

func (c *counted) Read(dst [][]float64) (int, error) {
	n, err := c.Source.Read(dst)
	c.done.Add(int64(n))
	return n, err
}
