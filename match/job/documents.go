package job

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/match/document"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
	"toneplumb/spectrum/measure"
)

// OpenText opens an ordinary file for reading. Its error is an [*audio.Error].
func OpenText(path string) (*os.File, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, Unreadable(path, err)
	}
	if info.IsDir() {
		return nil, &audio.Error{Kind: finding.FilesNeeded, Path: path, Problem: "is a folder, not a file", Hint: "name a file; all in a folder are FOLDER/*"}
	}
	if !info.Mode().IsRegular() {
		return nil, &audio.Error{Kind: finding.FilesNeeded, Path: path, Problem: "is not an ordinary file", Hint: "name an ordinary file"}
	}
	file, err := os.Open(path)
	if err != nil {
		return nil, Unreadable(path, err)
	}
	return file, nil
}

// Unreadable returns the [*audio.Error] for a file that cannot be read, with the system's
// reason.
func Unreadable(path string, err error) error {
	return &audio.Error{Kind: finding.SystemKind(err), Path: path, Problem: fmt.Sprintf("cannot be read: %s", codec.Cause(err)), Hint: "check the name and the folder"}
}

// ReadDocument reads a file with read, from stdin if path is "-". The error is an
// [*audio.Error], or a [*Failure] of this kind that names the file and has the hint.
func ReadDocument[T any](path string, stdin io.Reader, kind finding.ErrorKind, hint string, read func(io.Reader) (T, error)) (document T, err error) {
	in := stdin
	if path != "-" {
		file, err := OpenText(path)
		if err != nil {
			return document, err
		}
		defer file.Close()
		in = file
	}
	if document, err = read(in); err != nil {
		err = Fail(kind, hint, "%q: %s", path, err)
	}
	return document, err
}

// ReadSettings reads a settings document; errors are those of [ReadDocument].
func ReadSettings(path string, stdin io.Reader) (*document.Settings, error) {
	return ReadDocument(path, stdin, finding.SettingsWrong, "give the settings that match wrote with -o settings.json", document.ReadSettings)
}

// ReadPrevious reads the settings of an earlier round; nil if path is empty. With plain, the
// file's name does not appear in anything that is written. Errors are those of [ReadDocument].
func ReadPrevious(path string, stdin io.Reader, plain bool) (*match.PreviousRound, error) {
	if path == "" {
		return nil, nil
	}
	s, err := ReadSettings(path, stdin)
	if err != nil {
		return nil, err
	}
	names := match.Naming{Plain: plain}
	return &match.PreviousRound{Path: path, Name: names.Name(measure.NameOf(path), "the earlier round"), Settings: s}, nil
}

// ReadEqualiser reads the description of an equaliser; without any filter, for the common one, if path is empty. Errors
// are those of [ReadDocument].
func ReadEqualiser(path string, stdin io.Reader) (fit.Equaliser, error) {
	if path == "" {
		return fit.Equaliser{}, nil
	}
	return ReadDocument(path, stdin, finding.EqualiserWrong, "toneplumb help equalisers shows every field of a description", func(in io.Reader) (e fit.Equaliser, err error) {
		const most = 1 << 20 // bytes; our choice: a thousand times what a description needs
		data, err := io.ReadAll(io.LimitReader(in, most))
		if err != nil {
			return e, err
		}
		return document.ParseEqualiser(data)
	})
}

// KeptEqualiser is where the description of an equaliser lies that a person keeps for all
// runs: in the folder that the system has for a person's settings. Not ok where there is none.
func KeptEqualiser() (path string, ok bool) {
	folder, err := os.UserConfigDir()
	return filepath.Join(folder, "toneplumb", "equaliser.json"), err == nil
}

// KeepEqualiser keeps a description, if it can be read, at a path of [KeptEqualiser].
func KeepEqualiser(path string, description []byte) error {
	if _, err := document.ParseEqualiser(description); err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return Fail(finding.System, "make room, or check the folder", "%q cannot be made: %s", filepath.Dir(path), codec.Cause(err))
	}
	file, err := audio.CreateAtomic(path)
	if err != nil {
		return err
	}
	defer file.Abort()
	if _, err := file.Write(description); err != nil {
		return err
	}
	return file.Commit()
}

// ForgetEqualiser removes what is kept at a path of [KeptEqualiser], if anything is.
func ForgetEqualiser(path string) error {
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return Fail(finding.System, "remove it by hand", "%q cannot be removed: %s", path, codec.Cause(err))
	}
	return nil
}
