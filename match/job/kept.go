package job

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"toneplumb/match/document"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
)

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
		return Fail("make room, or check the folder", "%q cannot be made: %s", filepath.Dir(path), codec.Cause(err))
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
		return Fail("remove it by hand", "%q cannot be removed: %s", path, codec.Cause(err))
	}
	return nil
}
