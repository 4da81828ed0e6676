package cli

import (
	"os"
	"strings"
	"testing"
)

// The null device is a character device and no terminal: a page that is served to it opens
// no browser. Nor are files, pipes, and what is no file at all.
func TestIsTerminal(t *testing.T) {
	null, err := os.OpenFile(os.DevNull, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer null.Close()
	file, err := os.Create(t.TempDir() + "/a")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	reader, writer, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	defer writer.Close()
	for name, stream := range map[string]any{"the null device": null, "a file": file, "a pipe": writer, "a string": strings.NewReader(""), "nothing": nil} {
		if isTerminal(stream) {
			t.Errorf("%s passes for a terminal", name)
		}
	}
	const multiplexer = "/dev/ptmx" // each opening is one end of a terminal: pts(4)
	end, err := os.OpenFile(multiplexer, os.O_RDWR, 0)
	if err != nil {
		t.Skipf("no terminal to try: %v", err)
	}
	defer end.Close()
	if !isTerminal(end) {
		t.Error("a terminal passes for none")
	}
}
