package serve

import "slices"

// The roles of a recording. Only one recording is the mix, and one the earlier mix.
const (
	asMix       = "mix"
	asReference = "reference"
	asBefore    = "before" // an earlier mix
	asClass     = "class"  // one of the mixes of a class
	asTrack     = "track"  // a single track of the mix
	asPrint     = "print"  // the probe through an equaliser
	notUsed     = "none"
)

var roles = []string{asMix, asReference, asBefore, asClass, asTrack, asPrint, notUsed}

// assign gives a recording a role; s.lock must be held. Where another is the mix or the earlier mix,
// it takes that place once it is measured, since a file that cannot be read must not. The last one
// that is chosen for a place takes it. An unknown role changes nothing.
func (s *uploads) assign(rec *recording, role string) {
	if !slices.Contains(roles, role) {
		return
	}
	taken := false
	if role == asMix || role == asBefore {
		for _, other := range s.all {
			if other == rec {
				continue
			}
			other.lock.Lock()
			if taken = taken || other.role == role && other.state != failed; other.next == role {
				other.next = ""
			}
			other.lock.Unlock()
		}
	}
	rec.lock.Lock()
	rec.next = ""
	waits := taken && rec.state != ready
	if waits {
		rec.next = role
	}
	rec.lock.Unlock()
	if !waits {
		s.take(rec, role)
	}
}

// settle makes a recording ready and gives it the role that waited for that, unless it is a profile of
// several, which is no mix.
func (s *uploads) settle(rec *recording) {
	s.lock.Lock()
	defer s.lock.Unlock()
	rec.lock.Lock()
	next, one := rec.next, len(rec.input.Entries) == 1
	rec.state, rec.next = ready, ""
	rec.lock.Unlock()
	if next != "" && one {
		s.take(rec, next)
	}
}

// take gives a recording a role now; s.lock must be held. The previous mix gets the role that the new
// one had or, if that was none, becomes the earlier mix; one that cannot be read is not used any more.
func (s *uploads) take(rec *recording, role string) {
	before := rec.setRole(role)
	switch {
	case role == asMix && before == notUsed:
		before = asBefore
	case role == asBefore:
		before = notUsed
	case role != asMix:
		return
	}
	for _, other := range s.all {
		if other == rec || !other.hasRole(role) {
			continue
		}
		if other.now() == failed {
			other.setRole(notUsed)
		} else {
			s.take(other, before)
		}
	}
}

// unassign takes the roles from all recordings.
func (s *uploads) unassign() {
	s.lock.Lock()
	defer s.lock.Unlock()
	for _, rec := range s.all {
		rec.setRole(notUsed)
	}
}

// setRole sets a role, and none that waits.
func (rec *recording) setRole(role string) (before string) {
	rec.lock.Lock()
	defer rec.lock.Unlock()
	before, rec.role, rec.next = rec.role, role, ""
	return before
}

func (rec *recording) hasRole(role string) bool {
	rec.lock.Lock()
	defer rec.lock.Unlock()
	return rec.role == role
}
