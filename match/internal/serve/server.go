package serve

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"toneplumb/match/job"
	"toneplumb/spectrum/finding"
)

// Server is the local page. [New] makes one.
type Server struct {
	ctx      context.Context // of all its work
	end      context.CancelFunc
	listener net.Listener
	http     *http.Server
	guard    *guard
	folder   string
	uploads  *uploads
	results  *resultCache
	history  *history
	files    cache[exportFile]
	tasks    tasks
	heard    cache[*heardOutcome] // by task
	quick    limiter              // for answers from the tables, which do not wait for measurements
}

// Timeouts. Our choice: on one machine headers come at once; an upload is given up by its own rule
// (idleSec), and a download may take as long as it likes.
const (
	headerSec = 10
	keptSec   = 120
	stopSec   = 1 // for requests still running when the server stops
)

// New listens on 127.0.0.1 at port, 0 for a free one, and makes the private folder. Run must follow,
// since it removes the folder. Mistakes of the program itself are written to faults with their stacks,
// also several at once. Errors are of type *[job.Failure].
func New(ctx context.Context, port int, faults io.Writer) (*Server, error) {
	listener, err := net.Listen("tcp4", fmt.Sprintf("127.0.0.1:%d", port))
	if err != nil {
		return nil, job.Fail(finding.System, "name another with --port, or leave it out for a free one", "port %d of this machine cannot be used: %s", port, reasonOf(err))
	}
	address := listener.Addr().String()
	folder, err := newFolder(ctx, address)
	if err != nil {
		listener.Close()
		return nil, job.Fail(finding.System, "make room on the disk, or set TMPDIR to a folder of yours", "no private folder can be made in %q: %s", os.TempDir(), reasonOf(err))
	}
	cores := runtime.GOMAXPROCS(0)
	s := &Server{listener: listener, guard: newGuard(address), folder: folder,
		uploads: newUploads(folder, newLimiter(cores, faults)), results: &resultCache{}, history: &history{}, quick: newLimiter(cores, faults)}
	s.files.size, s.files.dropped = keptExports, func(f exportFile) { os.Remove(f.path) }
	s.heard.size = keptHeard
	s.tasks.busy = func(t *task) bool { state := t.status().State; return state == waiting || state == working }
	s.tasks.dropped = func(t *task) {
		t.cancel()
		s.heard.forget(func(id string, _ *heardOutcome) bool { return id == t.id })
	}
	s.ctx, s.end = context.WithCancel(context.Background())
	s.http = &http.Server{
		Handler: s.handler(), ReadHeaderTimeout: headerSec * time.Second, IdleTimeout: keptSec * time.Second, MaxHeaderBytes: 1 << 16,
		ErrorLog:    quiet(),
		BaseContext: func(net.Listener) context.Context { return s.ctx },
	}
	return s, nil
}

// reasonOf returns the innermost error, the system's own reason.
func reasonOf(err error) error {
	for inner := errors.Unwrap(err); inner != nil; inner = errors.Unwrap(err) {
		err = inner
	}
	return err
}

// URL returns the newest address to open; it works once.
func (s *Server) URL() string { return s.guard.url() }

// NewURL returns another address, which also works once, for another browser.
func (s *Server) NewURL() string { return s.guard.renew() }

// Run serves until ctx is done, then ends all work and removes the private folder. It returns an
// error if the server stopped for another reason.
func (s *Server) Run(ctx context.Context) error {
	defer os.RemoveAll(s.folder)
	failed := make(chan error, 1)
	go func() { failed <- s.http.Serve(s.listener) }()
	var err error
	select {
	case err = <-failed:
	case <-ctx.Done():
	}
	s.end() // measurements and uploads end
	late, cancel := context.WithTimeout(context.Background(), stopSec*time.Second)
	defer cancel()
	if s.http.Shutdown(late) != nil {
		s.http.Close()
	}
	s.tasks.work.Wait()
	s.uploads.close()
	return err
}

// handler answers anybody about the folder it keeps (livePath), and everything else behind the guard.
func (s *Server) handler() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /{$}", handler(s.page))
	mux.Handle("POST /recordings", handler(s.receive))
	mux.Handle("GET /recordings/{id}", s.ofRecording(s.getRecording))
	mux.Handle("DELETE /recordings/{id}", s.ofRecording(s.remove))
	mux.Handle("PUT /recordings/{id}/role/{role}", s.ofRecording(s.assign))
	mux.Handle("PUT /recordings/{id}/placing", s.ofRecording(s.place))
	mux.Handle("POST /demo", handler(s.demo))
	mux.Handle("POST /result", s.decodeRequest(s.respond(s.quick, s.result)))
	mux.Handle("POST /player", s.decodeRequest(s.respond(s.quick, s.player)))
	mux.Handle("POST /alternative", s.decodeRequest(s.respond(s.quick, s.alternative)))
	mux.Handle("POST /confirm", s.decodeRequest(s.respond(s.uploads.free, s.confirm)))
	mux.Handle("POST /export/{name}", s.decodeRequest(s.export))
	mux.Handle("GET /exports/{id}", handler(s.download))
	mux.Handle("GET /sounds/{id}", s.ofRecording(s.excerpt))
	mux.Handle("POST /moves", s.decodeRequest(s.respond(s.quick, s.movesOf)))
	mux.Handle("GET /probe", handler(s.getProbe))
	mux.HandleFunc("GET /equaliser", s.getEqualiser)
	mux.Handle("POST /equaliser", handler(s.checkEqualiser))
	mux.Handle("PUT /equaliser", handler(s.keepEqualiser))
	mux.Handle("DELETE /equaliser", handler(s.forgetEqualiser))
	mux.Handle("POST /tasks/{view}", handler(s.begin))
	mux.Handle("GET /tasks/{id}", s.ofTask(s.getTask))
	mux.Handle("DELETE /tasks/{id}", s.ofTask(s.endTask))
	mux.Handle("GET /tasks/{id}/picture", s.ofTask(s.getPicture))
	mux.Handle("GET /tasks/{id}/reading", s.ofTask(s.getReading))
	mux.Handle("GET /tasks/{id}/files/{name}", s.ofTask(s.getFile))
	mux.Handle("POST /tasks/{id}/files/{name}", s.ofTask(s.makeFile))
	mux.Handle("GET /tasks/{id}/player", s.ofTask(s.getPlayer))
	mux.Handle("GET /tasks/{id}/sounds/{name}", s.ofTask(s.getSound))
	mux.HandleFunc("GET /history", s.getHistory)
	mux.HandleFunc("DELETE /history/{id}", s.forget)
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		refuseTo(w, r, finding.PageOutOfDate, http.StatusNotFound, "there is nothing at this address", "go back to the page")
	})
	inside := s.guard.around(mux)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if name, is := strings.CutPrefix(r.URL.Path, livePath); is && r.Host == s.guard.address {
			if name == filepath.Base(s.folder) {
				w.WriteHeader(http.StatusNoContent)
			} else {
				w.WriteHeader(http.StatusNotFound)
			}
			return
		}
		inside.ServeHTTP(w, r)
	})
}

func (s *Server) ofRecording(next func(http.ResponseWriter, *http.Request, *recording) error) handler {
	return withID(s.uploads.get, "this recording is no longer here", "drop it again", next)
}

// assign gives a recording a role and answers with the roles of all, by id.
func (s *Server) assign(w http.ResponseWriter, r *http.Request, rec *recording) error {
	s.uploads.lock.Lock()
	s.uploads.assign(rec, r.PathValue("role"))
	roles := map[string]string{}
	for id, rec := range s.uploads.all {
		roles[id] = rec.status().Role
	}
	s.uploads.lock.Unlock()
	return writeJSON(w, http.StatusOK, roles)
}

// remove removes a recording and everything that was computed from it.
func (s *Server) remove(w http.ResponseWriter, r *http.Request, rec *recording) error {
	s.uploads.remove(rec)
	s.results.forget(rec.id)
	s.tasks.forget(func(_ string, t *task) bool { return slices.Contains(t.about, rec.id) })
	w.WriteHeader(http.StatusNoContent)
	return nil
}
