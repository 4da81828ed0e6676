package serve

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"net/http"
	"slices"
	"sync"

	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/parallel"
)

// limiter limits how much work runs at once.
type limiter struct {
	places chan struct{} // as many as its capacity
	faults io.Writer     // for panics of the work, with their stacks; in one call each
}

func newLimiter(places int, faults io.Writer) limiter {
	return limiter{make(chan struct{}, places), faults}
}

// do waits for a place and runs work. If the context ends first, it returns its error. A panic of work
// becomes an error too: the server goes on, with all that was dropped.
func (l limiter) do(ctx context.Context, work func() error) (err error) {
	select {
	case l.places <- struct{}{}:
		defer func() { <-l.places }()
	case <-ctx.Done():
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if p := parallel.Caught(func() { err = work() }); p != nil {
		fmt.Fprintf(l.faults, "toneplumb made a mistake of its own: %s\n", p)
		return refusal(finding.ProgramFault, http.StatusInternalServerError, fmt.Sprintf("toneplumb made a mistake of its own: %v", p.Value),
			"try again; if it stays, report what toneplumb serve printed about it")
	}
	return err
}

// cacheSize is the number of values kept if a cache has no other. Our choice: a comparison takes some
// 200 kB, and nobody goes back further.
const cacheSize = 24

// cache holds values by key; the oldest is dropped first. It grows beyond its size if all are busy: see full.
type cache[T any] struct {
	size    int          // 0: cacheSize
	busy    func(T) bool // whether a value is still at work, and so is not dropped for another; nil: none is
	dropped func(T)      // called with each value that is dropped; nil: nothing to do

	lock   sync.Mutex
	keys   []string // the oldest first
	values map[string]T
}

func (k *cache[T]) get(key string) (T, bool) {
	k.lock.Lock()
	defer k.lock.Unlock()
	v, found := k.values[key]
	return v, found
}

func (k *cache[T]) put(key string, v T) {
	k.lock.Lock()
	defer k.lock.Unlock()
	if _, found := k.values[key]; !found {
		k.add(key, v)
	}
	k.values[key] = v
}

// full reports whether as many values are busy as the cache's size, so that one more finds no room. The
// field busy must be set.
func (k *cache[T]) full() bool {
	k.lock.Lock()
	defer k.lock.Unlock()
	busy := 0
	for _, v := range k.values {
		if k.busy(v) {
			busy++
		}
	}
	return busy >= cmp.Or(k.size, cacheSize)
}

// getOrMake returns the value of a key, made by make if there is none.
func (k *cache[T]) getOrMake(key string, make func() T) T {
	k.lock.Lock()
	defer k.lock.Unlock()
	if _, found := k.values[key]; !found {
		k.add(key, make())
	}
	return k.values[key]
}

// add adds a key and drops the oldest that is not busy; lock must be held.
func (k *cache[T]) add(key string, v T) {
	if k.values == nil {
		k.values = map[string]T{}
	}
	excess := len(k.keys) + 1 - cmp.Or(k.size, cacheSize)
	k.keys = slices.DeleteFunc(k.keys, func(key string) bool {
		if excess <= 0 || k.busy != nil && k.busy(k.values[key]) {
			return false
		}
		excess--
		k.drop(key)
		return true
	})
	k.keys, k.values[key] = append(k.keys, key), v
}

func (k *cache[T]) drop(key string) {
	if k.dropped != nil {
		k.dropped(k.values[key])
	}
	delete(k.values, key)
}

// forget drops the values for which is returns true.
func (k *cache[T]) forget(is func(key string, v T) bool) {
	k.lock.Lock()
	defer k.lock.Unlock()
	k.keys = slices.DeleteFunc(k.keys, func(key string) bool {
		gone := is(key, k.values[key])
		if gone {
			k.drop(key)
		}
		return gone
	})
}
