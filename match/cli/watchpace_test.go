package cli

import (
	"context"
	"io"
	"testing"
	"testing/synctest"
	"time"
)

// A bounce that is there for four seconds is measured, whenever it comes between two looks
// and however long a look takes: drives of the network answer in some tens of milliseconds,
// and not always alike. It is found with half a second left to read it.
func TestWatchShortBounce(t *testing.T) {
	const stood, toRead, slow = 4 * time.Second, 500 * time.Millisecond, 30 * time.Millisecond
	bounce, other := fileState{size: 1000}, fileState{size: 2000}
	for comes := time.Duration(0); comes < 2*time.Second; comes += 10 * time.Millisecond {
		for slowLook := range 4 { // which of the first looks is slow
			synctest.Test(t, func(t *testing.T) {
				start, looks := time.Now(), 0
				w := &watch{poll: usualInterval, stdout: io.Discard, stderr: io.Discard, look: func(string) fileState {
					if looks++; looks%4 == slowLook {
						time.Sleep(slow)
					}
					switch at := time.Since(start) - comes; {
					case at < 0:
						return fileState{}
					case at < stood:
						return bounce
					}
					return other
				}}
				got, err := w.next(context.Background())
				if found := time.Since(start) - comes; err != nil || got != bounce || found > stood-toRead+slow {
					t.Fatalf("it came at %v: found %+v after %v, %v", comes, got, found, err)
				}
			})
		}
	}
}

// What changes again before it has been still is not measured, nor what goes back to the
// state that was.
func TestWatchStill(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		start := time.Now()
		states := []struct {
			until time.Duration
			fileState
		}{{2 * time.Second, fileState{size: 1}}, {4 * time.Second, fileState{size: 2}}, {6 * time.Second, fileState{size: 9}}, {8 * time.Second, fileState{size: 2}}, {time.Hour, fileState{size: 3}}}
		w := &watch{poll: usualInterval, done: fileState{size: 9}, stdout: io.Discard, stderr: io.Discard, look: func(string) fileState {
			for _, s := range states {
				if time.Since(start) < s.until {
					return s.fileState
				}
			}
			return fileState{}
		}}
		got, err := w.next(context.Background())
		if at := time.Since(start); err != nil || got.size != 3 || at < 8*time.Second+usualInterval.still {
			t.Errorf("found %+v after %v, %v; want the last state, still for %v", got, at, err, usualInterval.still)
		}
	})
}
