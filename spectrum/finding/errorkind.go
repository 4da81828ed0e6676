package finding

import (
	"context"
	"errors"
	"io/fs"
	"syscall"
)

// ErrorKind identifies a family of errors, one for each thing that a person can do about them. The terminal prints it
// behind the error, JSON has it as code, and match/words/messages.md lists all. It never changes.
type ErrorKind string

// Errors of the system, and of the work itself.
const (
	System       ErrorKind = "system"        // the operating system or a library refuses: no permission, disk full
	Stopped      ErrorKind = "stopped"       // by Ctrl-C
	SomeFailed   ErrorKind = "some-failed"   // of several files
	ProgramFault ErrorKind = "program-fault" // nothing that a person did
	TooLarge     ErrorKind = "too-large"     // for what it is meant for
)

// Errors of recordings.
const (
	NotFound         ErrorKind = "not-found"          // no such file or folder
	NoStream         ErrorKind = "no-stream"          // the standard input or output will not do
	NotARecording    ErrorKind = "not-a-recording"    // another kind of file
	NeedsFFmpeg      ErrorKind = "needs-ffmpeg"       // a recording that only a converter reads
	CannotDecode     ErrorKind = "cannot-decode"      // a recording in a coding that is not read
	Damaged          ErrorKind = "damaged"            // so far that nothing can be read
	NoSound          ErrorKind = "no-sound"           // empty or silent
	TooLittleMusic   ErrorKind = "too-little-music"   // to measure or to hear
	BeyondEnd        ErrorKind = "beyond-the-end"     // a part that the recording does not have
	UnusableRate     ErrorKind = "unusable-rate"      // below 8 or above 192 kHz
	RatesDiffer      ErrorKind = "rates-differ"       // of what must have one rate
	ChangedMeanwhile ErrorKind = "changed-meanwhile"  // while it was read
	NothingToCompare ErrorKind = "nothing-to-compare" // less than an octave that both have
	OtherMusic       ErrorKind = "other-music"        // than what it is to be compared with
	IsProfile        ErrorKind = "is-a-profile"       // where sound or a single recording is needed
	PrintName        ErrorKind = "print-name"         // a print's number is missing, unknown or taken
	PrintUnusable    ErrorKind = "print-unusable"     // nothing can be learnt from the prints
)

// Errors of documents.
const (
	OtherVersion   ErrorKind = "other-version"   // of a document, mostly a newer one
	ProfileWrong   ErrorKind = "profile-wrong"   // not whole, or changed by hand
	SettingsWrong  ErrorKind = "settings-wrong"  // moves of match
	DoesNotFit     ErrorKind = "does-not-fit"    // settings for another mix or rate
	EqualiserWrong ErrorKind = "equaliser-wrong" // the description of an equaliser
	CurveWrong     ErrorKind = "curve-wrong"     // a drawn curve
	SheetWrong     ErrorKind = "sheet-wrong"     // a table that a person filled in
	PlanWrong      ErrorKind = "plan-wrong"      // a plan of tracks
	NoPlan         ErrorKind = "no-plan"         // tracks found none to write
	AnswersWrong   ErrorKind = "answers-wrong"   // answers or marks of ear training
	PasswordWrong  ErrorKind = "password-wrong"  // missing, empty or another
)

// Errors of a command, or of the page.
const (
	UnknownCommand   ErrorKind = "unknown-command"
	WrongOption      ErrorKind = "wrong-option"      // one that the command does not have, or a value it cannot take
	OptionsClash     ErrorKind = "options-clash"     // two that do not go together, or one that needs another
	FilesNeeded      ErrorKind = "files-needed"      // another number or kind of files
	OutputNeeded     ErrorKind = "output-needed"     // no output was named
	UnknownExtension ErrorKind = "unknown-extension" // of an output
	OutputTwice      ErrorKind = "output-twice"      // one output named twice
	WouldOverwrite   ErrorKind = "would-overwrite"   // what is there already
	AnswersInside    ErrorKind = "answers-inside"    // the answers beside what is handed out
	NotMeasured      ErrorKind = "not-measured"      // a recording on the page, not yet
	NotArrived       ErrorKind = "not-arrived"       // a recording that was dropped on the page
	PageOutOfDate    ErrorKind = "page-out-of-date"  // it asks for what is gone
	NotLetIn         ErrorKind = "not-let-in"        // another browser, page or machine
)

// kinded is an error that has a kind.
type kinded struct {
	error
	kind ErrorKind
}

// Of returns err with a kind.
func (k ErrorKind) Of(err error) error { return &kinded{err, k} }

// ErrorKind returns the kind, as all errors that have one do.
func (e *kinded) ErrorKind() ErrorKind { return e.kind }

// Unwrap returns the error without its kind.
func (e *kinded) Unwrap() error { return e.error }

// KindOf returns the kind of an error or of the first that it wraps that has one, otherwise if none has.
func KindOf(err error, otherwise ErrorKind) ErrorKind {
	var k interface{ ErrorKind() ErrorKind }
	if errors.As(err, &k) {
		return k.ErrorKind()
	}
	return otherwise
}

// SystemKind returns the kind of an error of the operating system about a file.
func SystemKind(err error) ErrorKind {
	if errors.Is(err, fs.ErrNotExist) {
		return NotFound
	}
	return System
}

// AnyKindOf is like [KindOf] for an error that nothing has given words. Without a kind the system's errors are
// [System], the end of the context is [Stopped], and anything else is a [ProgramFault].
func AnyKindOf(err error) ErrorKind {
	var system syscall.Errno
	switch {
	case errors.Is(err, context.Canceled):
		return Stopped
	case errors.As(err, &system):
		return KindOf(err, SystemKind(err))
	}
	return KindOf(err, ProgramFault)
}
