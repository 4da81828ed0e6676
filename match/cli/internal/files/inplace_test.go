package files

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/finding"
)

// What appears at an output's place during the work is another's: it is replaced only with replace, or if it is a
// picture. If it is not, the pictures, which come last, are not put in place either, and nothing is left behind.
func TestWhatAppearsDuringTheWork(t *testing.T) {
	for _, c := range []struct {
		name    string
		replace bool
		want    string
	}{{"moves.csv", false, "theirs"}, {"moves.csv", true, "ours"}, {"chart.png", false, "ours"}} {
		dir := t.TempDir()
		path, picture := filepath.Join(dir, c.name), filepath.Join(dir, "other.svg")
		err := Put(context.Background(), c.replace, []File{
			{Path: picture, Write: func(io.Writer) error { return nil }},
			{Path: path, Write: func(w io.Writer) error {
				if err := os.WriteFile(path, []byte("theirs"), 0o644); err != nil {
					t.Fatal(err)
				}
				_, err := io.WriteString(w, "ours")
				return err
			}},
		})
		lost := c.want == "theirs"
		var refused *audio.Error
		if errors.As(err, &refused) != lost || lost && refused.Kind != finding.WouldOverwrite {
			t.Errorf("%s, replace %v: error %v", c.name, c.replace, err)
		}
		if got, err := os.ReadFile(path); string(got) != c.want {
			t.Errorf("%s, replace %v: %q, %v", c.name, c.replace, got, err)
		}
		_, err = os.Stat(picture)
		if (err != nil) != lost {
			t.Errorf("%s, replace %v: the picture: %v", c.name, c.replace, err)
		}
		wantFiles := 2
		if lost {
			wantFiles = 1
		}
		if all, _ := os.ReadDir(dir); len(all) != wantFiles {
			t.Errorf("%s, replace %v: %v", c.name, c.replace, all)
		}
	}
}

// The same holds for a sound.
func TestASoundAppearsDuringTheWork(t *testing.T) {
	for _, replace := range []bool{false, true} {
		path := filepath.Join(t.TempDir(), "moved.wav")
		var sounds Sounds
		if err := sounds.Stage(context.Background(), path, 8000, [][]float64{{0, 0.5}}); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte("theirs"), 0o644); err != nil {
			t.Fatal(err)
		}
		err := Put(context.Background(), replace, nil, sounds...)
		got, _ := os.ReadFile(path)
		if kept := string(got) == "theirs"; kept == replace || (err == nil) != replace {
			t.Errorf("replace %v: kept %v, %v", replace, kept, err)
		}
		if all, _ := os.ReadDir(filepath.Dir(path)); len(all) != 1 {
			t.Errorf("replace %v: %v", replace, all)
		}
	}
}

// An output that is refused takes back the new ones before it, so that the same command can be run again.
func TestNewFilesAreTakenBack(t *testing.T) {
	dir := t.TempDir()
	taken := filepath.Join(dir, "taken.csv")
	for _, late := range []bool{true, false} {
		var sounds Sounds
		if err := sounds.Stage(context.Background(), filepath.Join(dir, "moved.wav"), 8000, [][]float64{{0, 0.5}}); err != nil {
			t.Fatal(err)
		}
		err := Put(context.Background(), false, []File{
			{Path: filepath.Join(dir, "first.csv"), Write: func(io.Writer) error { return nil }},
			{Path: taken, Write: func(io.Writer) error {
				if late {
					return os.Mkdir(taken, 0o755)
				}
				return nil
			}},
		}, sounds...)
		var refused *audio.Error
		if errors.As(err, &refused) != late || late && refused.Kind != finding.WouldOverwrite {
			t.Errorf("taken %v: %v", late, err)
		}
		all, _ := os.ReadDir(dir)
		if want := map[bool]int{true: 1, false: 3}[late]; len(all) != want {
			t.Errorf("taken %v: %v", late, all)
		}
		if late {
			os.Remove(taken)
		}
	}
}
