package cli

import (
	"bytes"
	"context"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"toneplumb/spectrum/testkit"
)

// The README's walks: its commands are run as they stand there, and its pictures are
// what they write. -update writes the pictures anew.
func TestWalks(t *testing.T) {
	testkit.Skip(t, "runs seven commands")
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	readme, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, text, found := strings.Cut(string(readme), "\n## Starting a mix\n")
	if !found {
		t.Fatal("README.md has no walks")
	}
	text, _, _ = strings.Cut(text, "\n## All commands\n")
	t.Chdir(t.TempDir())
	said := ""
	commands := []string{"demo"} // by `go run . demo`, the first of "Get it": the walk begins with another
	for line := range strings.Lines(text) {
		if command, is := strings.CutPrefix(strings.TrimSpace(line), "./toneplumb "); is {
			commands = append(commands, command)
		}
	}
	for _, command := range commands {
		var stdout, stderr bytes.Buffer
		if code := Run(context.Background(), strings.Fields(command), strings.NewReader(""), &stdout, &stderr); code != exitDone {
			t.Fatalf("%s: exit code %d: %s", command, code, &stderr)
		}
		said += stdout.String()
	}
	const least = 8
	if len(commands) < least {
		t.Errorf("%d commands, want %d", len(commands), least)
	}
	if !strings.Contains(string(readme), "    go run . demo ") {
		t.Error("README.md does not begin with go run . demo")
	}
	// What the README says of them.
	for _, want := range []string{"2.8 → 1.6 dB from the reference.", "Your dialled moves still hold: change nothing. 1.6 dB now (2.8 without them)."} {
		if !strings.Contains(strings.Join(strings.Fields(said), " "), want) {
			t.Errorf("none of them says %q", want)
		}
	}
	if table, err := os.ReadFile("class.csv"); err != nil || !strings.Contains(string(table), "evening-class-rough-mix.wav,near enough,2.84,1.58,") {
		t.Errorf("the class has other figures than the match: %s (%v)", table, err)
	}
	pictures := map[string]string{"chart.png": "demo/chart.png", "check.png": "walks/check.png", "exercise.png": "walks/exercise.png"}
	for _, kept := range pictures {
		if !strings.Contains(string(readme), "examples/"+kept) {
			t.Errorf("README.md does not show %s", kept)
		}
	}
	told, err := os.ReadFile(filepath.Join(root, "examples", "walks", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	for _, walk := range walks {
		for i, shows := range walk.shows {
			name := walkName(walk.use, i+1)
			if name == "start-1.png" { // the chart again
				continue
			}
			pictures["toneplumb-demo/walks/"+name] = "walks/" + name
			if !strings.Contains(string(told), "!["+shows+"]("+name+")") {
				t.Errorf("examples/walks/README.md does not show %s: %s", name, shows)
			}
		}
	}
	for picture, kept := range pictures {
		kept = filepath.Join(root, "examples", filepath.FromSlash(kept))
		if *testkit.Update {
			content, err := os.ReadFile(picture)
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(kept, content, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		samePicture(t, picture, kept)
	}
}

// samePicture tells whether two pictures look alike.
func samePicture(t *testing.T, got, want string) {
	t.Helper()
	// Our choice: other processors round a line's edge otherwise by some levels of 255;
	// a line that has moved by a pixel changes more of the picture than that.
	const mostLevels, mostShare = 48, 0.0005
	a, b := decoded(t, got), decoded(t, want)
	if a.Bounds() != b.Bounds() {
		t.Errorf("%s is %v, kept is %v; go test ./match/cli -run TestWalks -update", got, a.Bounds(), b.Bounds())
		return
	}
	other, size := 0, a.Bounds().Size()
	for y := range size.Y {
		for x := range size.X {
			r1, g1, b1, _ := a.At(x, y).RGBA()
			r2, g2, b2, _ := b.At(x, y).RGBA()
			for _, d := range []int{int(r1) - int(r2), int(g1) - int(g2), int(b1) - int(b2)} {
				if max(d, -d)>>8 > mostLevels {
					other++
					break
				}
			}
		}
	}
	if share := float64(other) / float64(size.X*size.Y); share > mostShare {
		t.Errorf("%s differs from the one in examples in %.3f %% of the picture; go test ./match/cli -run TestWalks -update", got, 100*share)
	}
}

func decoded(t *testing.T, path string) image.Image {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	picture, err := png.Decode(file)
	if err != nil {
		t.Fatal(err)
	}
	return picture
}
