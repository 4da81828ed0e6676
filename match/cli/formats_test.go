package cli

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"toneplumb/match/class"
	"toneplumb/match/document"
	"toneplumb/match/training"
	"toneplumb/spectrum/testkit"
)

// The examples of match/artefact/README.md can be read, and those that the program writes
// are what it writes. With -update they are written anew.
func TestFormats(t *testing.T) {
	const page = "../artefact/README.md"
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	block := regexp.MustCompile("(?s)```[a-z]+ ([a-z.]+)\n(.*?)```")
	example := map[string]string{}
	for _, m := range block.FindAllStringSubmatch(string(text), -1) {
		example[m[1]] = m[2]
	}
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	example["README's equaliser"] = string(regexp.MustCompile(`\{"version".*`).Find(readme))
	lessons, err := os.ReadFile("../../examples/lessons/README.md")
	if err != nil {
		t.Fatal(err)
	}
	sheet := regexp.MustCompile(`(?m)^ +render,shape.*\n( +\d,.*\n)+`).Find(lessons) // a spreadsheet puts no blanks before the lines
	example["the lessons' sheet"] = regexp.MustCompile(`(?m)^ +`).ReplaceAllString(string(sheet), "")
	written := writtenFormats(t, example["drawn.csv"])
	if *testkit.Update {
		text = block.ReplaceAllFunc(text, func(b []byte) []byte {
			m := block.FindSubmatch(b)
			if now, is := written[string(m[1])]; is {
				return bytes.Replace(b, append([]byte("\n"), append(m[2], "```"...)...), []byte("\n"+now+"```"), 1)
			}
			return b
		})
		if err := os.WriteFile(page, text, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	for name, want := range written {
		if got := example[name]; got != want {
			t.Errorf("%s: %s\nthe program writes\n%s", name, got, want)
		}
	}
	for name, read := range map[string]func(string) error{
		"drawn.csv":      func(s string) error { _, err := document.ParseCurve(strings.NewReader(s)); return err },
		"settings.json":  func(s string) error { _, err := document.ReadSettings(strings.NewReader(s)); return err },
		"equaliser.json": func(s string) error { _, err := document.ParseEqualiser([]byte(s)); return err },

		"the lessons' sheet": func(s string) error { _, err := training.ReadSheet(strings.NewReader(s), 3); return err },
		"README's equaliser": func(s string) error { _, err := document.ParseEqualiser([]byte(s)); return err },
		"sheet.csv":          func(s string) error { _, err := training.ReadSheet(strings.NewReader(s), 2); return err },
	} {
		if err := read(example[name]); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// writtenFormats are the examples that come of the drawn curve, and the first line of a
// class's table.
func writtenFormats(t *testing.T, drawn string) map[string]string {
	folder := t.TempDir()
	at := func(name string) string { return filepath.Join(folder, name) }
	if err := os.WriteFile(at("drawn.csv"), []byte(drawn), 0o644); err != nil {
		t.Fatal(err)
	}
	var stderr strings.Builder
	args := []string{"fit", at("drawn.csv"), "--moves", "2", "-o", at("settings.json"), "-o", at("moves.csv"), "-o", at("curve.csv")}
	if code := Run(context.Background(), args, strings.NewReader(""), io.Discard, &stderr); code != exitDone {
		t.Fatalf("exit code %d: %s", code, stderr.String())
	}
	written := map[string]string{}
	for _, name := range []string{"settings.json", "moves.csv"} {
		b, err := os.ReadFile(at(name))
		if err != nil {
			t.Fatal(err)
		}
		written[name] = strings.ReplaceAll(string(b), "\r\n", "\n") // a page's lines end in one way
	}
	curve, err := os.Open(at("curve.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer curve.Close()
	if points, err := document.ParseCurve(curve); err != nil || len(points) < 200 {
		t.Errorf("curve.csv: %d points, %v", len(points), err)
	}
	var table strings.Builder
	if err := class.CSV(&table, &class.Table{}, false); err != nil {
		t.Fatal(err)
	}
	written["class.csv"] = strings.ReplaceAll(table.String(), "\r\n", "\n")
	return written
}
