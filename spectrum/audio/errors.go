package audio

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// Error says what is wrong with a file in words for its owner. Error() is one line without the hint; the command
// line prints Hint on a line of its own. Both are lower case without a full stop.
type Error struct {
	Path    string // as the caller gave it
	Problem string // what happened
	Hint    string // what to do about it
	Err     error  // the cause where there is one, for errors.Is

	tool bool // a converter may be able to read the file
}

// Error returns the quoted path and the problem.
func (e *Error) Error() string { return fmt.Sprintf("%q %s", e.Path, e.Problem) }

// OtherDecoder tells that another decoder, such as ffmpeg or a browser's, may be able to read the file.
func (e *Error) OtherDecoder() bool { return e.tool }

// Unwrap returns the cause, or nil.
func (e *Error) Unwrap() error { return e.Err }

const (
	hintConvert = "export or convert it to WAV (16 or 24 bit) and try again"
	hintTool    = "install ffmpeg (with ffprobe) and try again, or convert the file to WAV or FLAC first"
	hintDamaged = "copy or export the file again"
	hintFolder  = "check the folder's name, its permissions and the free space"
)

// problem is an Error whose file is not known yet; Open and CreateWAV add the path once.
func problem(text, hint string) *Error { return &Error{Problem: text, Hint: hint} }

// needsTool is the error for a kind of file, named with its article, that only a converter reads.
func needsTool(kind string) *Error {
	return &Error{Problem: "is " + kind + ", which cannot be read without ffmpeg", Hint: hintTool, tool: true}
}

// at adds the path to an error: to ours in place, to any other as a failed read.
func at(path string, err error) error {
	var e *Error
	if errors.As(err, &e) {
		e.Path = path
		return e
	}
	return &Error{Path: path, Problem: "could not be read: " + cause(err), Hint: "check the disk or copy the file again", Err: err}
}

// cause returns the operating system's reason without the path that Go puts in front of it.
func cause(err error) string {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err.Error()
	}
	var le *os.LinkError
	if errors.As(err, &le) {
		return le.Err.Error()
	}
	return err.Error()
}
