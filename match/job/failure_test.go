package job

import (
	"errors"
	"strings"
	"testing"

	"toneplumb/spectrum/finding"
)

// %q does not double backslashes of paths, and other verbs work as usual.
func TestFail(t *testing.T) {
	err := Fail(finding.System, "", "%q: %s, %d of %v", `C:\a b.wav`, "broken", 3, `D:\c`)
	if got, want := err.Error(), `"C:\a b.wav": broken, 3 of D:\c`; got != want {
		t.Errorf("%s: want %s", got, want)
	}
}

// An error from below that knows its kind keeps it; any other gets that of the place where it is put into words.
func TestFailKind(t *testing.T) {
	for _, row := range []struct {
		cause error
		want  finding.ErrorKind
	}{
		{errors.New("line 2"), finding.SettingsWrong},
		{finding.OtherVersion.Of(errors.New("version 9")), finding.OtherVersion},
	} {
		err := Fail(finding.SettingsWrong, "", "%q: %s", "a.json", row.cause)
		if got := finding.KindOf(err, finding.ProgramFault); got != row.want {
			t.Errorf("%v: %s, want %s", row.cause, got, row.want)
		}
	}
}

// A folder is there, but it is not what is needed.
func TestFolderAsDocument(t *testing.T) {
	for _, read := range []func(string) error{
		func(path string) error { _, err := ReadEqualiser(path, nil); return err },
		func(path string) error { _, err := ReadSettings(path, nil); return err },
	} {
		if err := read(t.TempDir()); finding.KindOf(err, finding.System) != finding.FilesNeeded || !strings.Contains(err.Error(), "is a folder") {
			t.Errorf("%v, of kind %s", err, finding.KindOf(err, finding.System))
		}
	}
}
