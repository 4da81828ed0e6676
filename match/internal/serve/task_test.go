package serve

import (
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"toneplumb/match/job"
	"toneplumb/spectrum/finding"
)

// Settings of another rate may hold a move above half of the mix's: that is said.
func TestMovesThatDoNotFit(t *testing.T) {
	v := enter(t)
	mix, ref := v.drop("m.wav", sound(t, 5, 1, faults...)), v.drop("r.wav", sound(t, 5, 2))
	v.measured(mix)
	v.measured(ref)
	settings := json.RawMessage(`{"version": 1, "rate_hz": 96000, "trim_db": 0, "moves": [{"shape": "bell", "freq_hz": 30000, "gain_db": 2, "q": 1}]}`)
	var refused userError
	if code := v.post("/moves", with(usual(mix, ref), "from", settings), &refused); code != http.StatusUnprocessableEntity || refused.Kind != finding.DoesNotFit {
		t.Errorf("answered with %d, %+v", code, refused)
	}
}

// testView makes a view for a test, which runs work as a job does.
func (v *visit) testView(name string, work func()) {
	views[name] = view{run: func(_ *Server, ctx context.Context, _ *viewRequest, _ *task) (*outcome, error) {
		return job.Interruptible(ctx, func() (*outcome, error) {
			work()
			return &outcome{}, nil
		})
	}}
	v.t.Cleanup(func() { delete(views, name) })
}

// A mistake of the program in one task is that task's error; the server goes on, and prints where it was.
func TestPanicIsAnError(t *testing.T) {
	v := enter(t)
	v.testView("broken", noSuchBand)
	got := v.task("broken", usual(""))
	if got.State != failed || got.Trouble == nil || got.Trouble.Kind != finding.ProgramFault || !strings.Contains(got.Trouble.What, "no such band") || got.Trouble.Hint == "" {
		t.Errorf("the task is %+v, %+v", got, got.Trouble)
	}
	if printed := v.faults.String(); !strings.Contains(printed, "no such band") || !strings.Contains(printed, "serve.noSuchBand") {
		t.Errorf("printed is %q", printed)
	}
	if n := len(v.server.quick.places); n > 0 {
		t.Errorf("%d places are taken", n)
	}
}

func noSuchBand() { panic("no such band") }

// A task that panics keeps its place until the work it has left behind has ended.
func TestPanicKeepsPlace(t *testing.T) {
	v := enter(t)
	begun, end := make(chan bool), make(chan bool)
	views["broken"] = view{run: func(_ *Server, ctx context.Context, _ *viewRequest, _ *task) (*outcome, error) {
		inner, cancel := context.WithCancel(ctx)
		go func() {
			<-begun
			cancel()
		}()
		job.Interruptible(inner, func() (*outcome, error) {
			begun <- true
			<-end
			return nil, nil
		})
		panic("no such band")
	}}
	t.Cleanup(func() { delete(views, "broken") })
	var begin struct{ ID string }
	v.post("/tasks/broken", usual(""), &begin)
	kept, _ := v.server.tasks.get(begin.ID)
	v.staysAtWork(kept)
	close(end)
	v.server.tasks.work.Wait()
	if n := len(v.server.quick.places); n > 0 || kept.status().State != failed {
		t.Errorf("%d places are taken; it is %s", n, kept.status().State)
	}
}

// staysAtWork sees that the place of a task is taken while whatever could free it too early has time to do so.
func (v *visit) staysAtWork(kept *task) {
	v.t.Helper()
	for kept.status().State == waiting {
		time.Sleep(time.Millisecond)
	}
	for range 20 {
		time.Sleep(time.Millisecond)
		if n := len(v.server.quick.places); n != 1 || kept.status().State != working {
			v.t.Fatalf("%d places are taken while it works; it is %s", n, kept.status().State)
		}
	}
}

// A task that is cancelled while it works keeps its place until its work has ended, so that no more
// runs at once than there are places for.
func TestCancelledKeepsPlace(t *testing.T) {
	v := enter(t)
	begun, end := make(chan bool), make(chan bool)
	v.testView("slow", func() {
		begun <- true
		<-end
	})
	var task struct{ ID string }
	if code := v.post("/tasks/slow", usual(""), &task); code != http.StatusCreated {
		t.Fatalf("answered with %d", code)
	}
	<-begun
	kept, _ := v.server.tasks.get(task.ID)
	if code := v.ask("DELETE", "/tasks/"+task.ID, nil, nil); code != http.StatusNoContent {
		t.Fatalf("ending it is answered with %d", code)
	}
	v.staysAtWork(kept)
	close(end)
	v.server.tasks.work.Wait()
	if n := len(v.server.quick.places); n > 0 {
		t.Errorf("%d places are taken", n)
	}
}

// No more tasks wait or work than are kept; once one has ended, the next is taken.
func TestTooManyTasks(t *testing.T) {
	v := enter(t)
	v.server.tasks.size = 2
	end := make(chan bool)
	v.testView("slow", func() { <-end })
	for range 2 {
		if code := v.post("/tasks/slow", usual(""), nil); code != http.StatusCreated {
			t.Fatalf("answered with %d", code)
		}
	}
	var why userError
	if code := v.post("/tasks/slow", usual(""), &why); code != http.StatusTooManyRequests || why.Hint == "" {
		t.Errorf("one too many is answered with %d, %+v", code, why)
	}
	close(end)
	v.server.tasks.work.Wait()
	if code := v.post("/tasks/slow", usual(""), nil); code != http.StatusCreated {
		t.Errorf("after their end one more is answered with %d", code)
	}
}

// The oldest answer gives way to a new one, but not a task that still works.
func TestWorkingIsNotDropped(t *testing.T) {
	v := enter(t)
	v.server.tasks.size = 2
	end := make(chan bool)
	v.testView("slow", func() { <-end })
	slowly := views["slow"]
	slowly.long = true // it leaves the place of the others free
	views["slow"] = slowly
	v.testView("fast", func() {})
	var slow struct{ ID string }
	v.post("/tasks/slow", usual(""), &slow)
	first, last := v.task("fast", usual("")), v.task("fast", usual(""))
	close(end)
	for id, want := range map[string]int{slow.ID: http.StatusOK, first.ID: http.StatusNotFound, last.ID: http.StatusOK} {
		if code := v.ask("GET", "/tasks/"+id, nil, nil); code != want {
			t.Errorf("answered with %d, want %d", code, want)
		}
	}
}
