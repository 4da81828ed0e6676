package parallel

import (
	"fmt"
	"runtime/debug"
)

// Panic is a panic that was caught on one goroutine, for another.
type Panic struct {
	Value any
	Stack []byte // where it happened
}

// Error returns the value and the stack, which Go prints if nothing catches it again.
func (p *Panic) Error() string { return fmt.Sprintf("%v\n\n%s", p.Value, p.Stack) }

// Caught runs f and returns its panic, nil if there is none.
func Caught(f func()) (p *Panic) {
	defer func() {
		switch v := recover().(type) {
		case nil:
		case *Panic:
			p = v
		default:
			p = &Panic{v, debug.Stack()}
		}
	}()
	f()
	return nil
}

// Again panics with p, unless it is nil.
func (p *Panic) Again() {
	if p != nil {
		panic(p)
	}
}
