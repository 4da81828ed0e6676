package codec

import (
	"errors"
	"io/fs"
	"os"
	"strconv"
	"strings"
	"unicode"

	"toneplumb/spectrum/finding"
)

// Error says what is wrong with a file and what to do about it, in words for a user. Error() returns one line without
// the hint; the command line prints Hint on a line of its own. Both are lower case without a full stop.
type Error struct {
	Kind    finding.ErrorKind
	Path    string // as the caller gave it; decoders leave it empty and [WithPath] fills it in
	Problem string // what happened
	Hint    string // what to do about it
	Err     error  // the cause, for errors.Is; may be nil

	otherDecoder bool
}

// Quote puts text in quotation marks and escapes characters that cannot be printed. It does not escape backslashes,
// since paths on Windows are full of them.
func Quote(text string) string {
	return strings.ReplaceAll(strconv.Quote(text), `\\`, `\`)
}

// Hints that several decoders give.
const (
	HintConvert = "export or convert it to WAV (16 or 24 bit) and try again"
	HintTool    = "install ffmpeg (with ffprobe) and try again, or convert the file to WAV or FLAC first"
	HintDamaged = "copy or export the file again"
	HintExport  = "export the recording again"
)

// NewError returns an error about a file; [WithPath] adds the path.
func NewError(kind finding.ErrorKind, problem, hint string) *Error {
	return &Error{Kind: kind, Problem: problem, Hint: hint}
}

// Damaged returns the error for a file of which nothing can be read.
func Damaged(problem string) *Error { return NewError(finding.Damaged, problem, HintDamaged) }

// NeedsTool returns the error for a kind of file that only a converter reads. kind includes its article: "an AAC file".
func NeedsTool(kind string) *Error {
	return NewError(finding.NeedsFFmpeg, "is "+kind+", which cannot be read without ffmpeg", HintTool).AllowTool()
}

// AllowTool marks e as the error of a file that another decoder may be able to read, and returns e.
func (e *Error) AllowTool() *Error {
	e.otherDecoder = true
	return e
}

// Error returns the quoted path and the problem.
func (e *Error) Error() string { return Quote(e.Path) + " " + e.Problem }

// ErrorKind returns the kind; see [finding.KindOf].
func (e *Error) ErrorKind() finding.ErrorKind { return e.Kind }

// OtherDecoder reports whether another decoder, such as ffmpeg or a browser's, may be able to read the file.
func (e *Error) OtherDecoder() bool { return e.otherDecoder }

// Unwrap returns the cause, or nil.
func (e *Error) Unwrap() error { return e.Err }

// WithPath adds the path to an error. It changes an [*Error] in place and wraps any other error as a failed read.
func WithPath(path string, err error) error {
	var e *Error
	if errors.As(err, &e) {
		e.Path = path
		return e
	}
	return &Error{Kind: finding.System, Path: path, Problem: "could not be read: " + Cause(err), Hint: "check the disk or copy the file again", Err: err}
}

// Cause returns the operating system's reason as a clause, without the operation and path that Go puts in front of it.
// Windows gives whole sentences: "The system cannot find the path specified."
func Cause(err error) string {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return clause(pe.Err.Error())
	}
	var le *os.LinkError
	if errors.As(err, &le) {
		return clause(le.Err.Error())
	}
	return err.Error()
}

// clause returns a sentence without its full stop and its first capital.
func clause(sentence string) string {
	letters := []rune(strings.TrimSuffix(sentence, "."))
	if len(letters) > 1 && unicode.IsLower(letters[1]) {
		letters[0] = unicode.ToLower(letters[0])
	}
	return string(letters)
}
