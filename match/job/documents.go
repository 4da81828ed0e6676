package job

import (
	"fmt"
	"io"
	"os"

	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/measure"
)

// OpenText opens an ordinary file for reading. Its error is an [*audio.Error].
func OpenText(path string) (*os.File, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, Unreadable(path, err)
	}
	if !info.Mode().IsRegular() {
		return nil, &audio.Error{Path: path, Problem: "is not an ordinary file", Hint: "name an ordinary file"}
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, Unreadable(path, err)
	}
	return file, nil
}

// OpenStream is [OpenText] for input that may also come from another program: the path "-"
// is the standard input.
func OpenStream(path string) (*os.File, error) {
	if path == "-" {
		return os.Stdin, nil
	}
	return OpenText(path)
}

// Unreadable returns the [*audio.Error] for a file that cannot be read, with the system's
// reason.
func Unreadable(path string, err error) error {
	return &audio.Error{Path: path, Problem: fmt.Sprintf("cannot be read: %s", codec.Cause(err)), Hint: "check the name and the folder"}
}

// ReadSettings reads a settings document, from the standard input if path is "-". The error
// is an [*audio.Error] or a [*Failure].
func ReadSettings(path string) (*document.Settings, error) {
	file, err := OpenStream(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	s, err := document.ReadSettings(file)
	if err != nil {
		return nil, Fail("give the settings that match wrote with -o settings.json", "%q: %s", path, err)
	}
	return s, nil
}

// ReadPrevious reads the settings of an earlier round; nil if path is empty. With plain, the
// file's name does not appear in anything that is written. The error is that of
// [ReadSettings].
func ReadPrevious(path string, plain bool) (*match.PreviousRound, error) {
	if path == "" {
		return nil, nil
	}
	s, err := ReadSettings(path)
	if err != nil {
		return nil, err
	}
	names := match.Naming{Plain: plain}
	return &match.PreviousRound{Path: path, Name: names.Name(measure.NameOf(path), "the earlier round"), Settings: s}, nil
}

// ReadEqualiser reads the description of an equaliser, from the standard input if path is
// "-"; the default one if path is empty. The error is an [*audio.Error] or a [*Failure].
func ReadEqualiser(path string) (fit.Equaliser, error) {
	if path == "" {
		return fit.Default(), nil
	}
	file, err := OpenStream(path)
	if err != nil {
		return fit.Equaliser{}, err
	}
	defer file.Close()
	const most = 1 << 20 // bytes; our choice: a thousand times what a description needs
	data, err := io.ReadAll(io.LimitReader(file, most))
	if err != nil {
		return fit.Equaliser{}, Unreadable(path, err)
	}
	e, err := document.ParseEqualiser(data)
	if err != nil {
		return e, Fail("README.md and examples/ show how an equaliser is described", "%q: %s", path, err)
	}
	return e, nil
}
