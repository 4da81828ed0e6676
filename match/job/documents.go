package job

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
)

// OpenText opens an ordinary file to be read. Its errors are an [audio.Error].
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

// OpenStream is [OpenText] for what may also come from another program: - is the standard
// input.
func OpenStream(path string) (*os.File, error) {
	if path == "-" {
		return os.Stdin, nil
	}
	return OpenText(path)
}

// Unreadable says that a file cannot be read, with the system's reason.
func Unreadable(path string, err error) error {
	return &audio.Error{Path: path, Problem: fmt.Sprintf("cannot be read: %s", ReasonOf(err)), Hint: "check the name and the folder"}
}

// ReasonOf is the system's reason without the path that Go puts before it.
func ReasonOf(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	return err
}

// ReadSettings reads a settings document, from the standard input where path is -.
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

// ReadPrevious reads the settings of an earlier round; nil if no file is named. Plain keeps
// the file's name out of what is written.
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

// ReadEqualiser reads the description of an equaliser; the default one if no file is named.
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
