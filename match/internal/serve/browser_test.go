package serve

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"toneplumb/match/internal/browser"
)

// No test sees the equaliser that its person keeps.
func TestMain(m *testing.M) {
	folder, err := os.MkdirTemp("", "")
	if err != nil {
		panic(err)
	}
	os.Setenv("XDG_CONFIG_HOME", folder)
	code := m.Run()
	browser.Stop()
	os.RemoveAll(folder)
	os.Exit(code)
}

// tab is a tab of a real browser at the served page.
type tab struct{ *browser.Tab }

// open opens the page as somebody who was not let in yet.
func (v *visit) open() *tab {
	v.t.Helper()
	return &tab{browser.Open(v.t, v.server.URL())}
}

// textOf is the text of the element with an id.
func (b *tab) textOf(id string) string {
	return b.Text(fmt.Sprintf("document.getElementById(%q).innerText", id))
}

// settled is true once everything asked for is shown.
const settled = `app.answer !== null && !app.answer.waiting && !document.getElementById("found").classList.contains("waiting") && !document.getElementById("found").hidden`

// dropOn drops files on the page as a hand would: name, path, name, path, …
func (b *tab) dropOn(named ...string) {
	b.T.Helper()
	b.dropAt("#drop", named...)
}

// dropAs drops a file on the place of a role.
func (b *tab) dropAs(role string, named ...string) {
	b.T.Helper()
	b.dropAt(fmt.Sprintf("[data-role=%s]", role), named...)
}

func (b *tab) dropAt(place string, named ...string) {
	b.T.Helper()
	// A field for files takes them from the disk; a drop hands them on under their names.
	browser.Eval[bool](b.Tab, `(() => { const input = document.createElement("input"); input.type = "file"; input.multiple = true; input.id = "from-disk"; input.hidden = true; document.body.append(input); return true; })()`)
	var names, paths []string
	for i := 0; i < len(named); i += 2 {
		names, paths = append(names, named[i]), append(paths, named[i+1])
	}
	b.Files("#from-disk", paths...)
	list, err := json.Marshal(names)
	if err != nil {
		b.T.Fatal(err)
	}
	browser.Eval[bool](b.Tab, fmt.Sprintf(`(() => {
		const input = document.getElementById("from-disk"), names = %s, carried = new DataTransfer();
		[...input.files].forEach((file, i) => carried.items.add(new File([file], names[i])));
		input.remove();
		document.querySelector(%q).dispatchEvent(new DragEvent("drop", { bubbles: true, cancelable: true, dataTransfer: carried }));
		return true;
	})()`, list, place))
}

// downloaded waits for a file to be there whole and returns it.
func (b *tab) downloaded(name string) []byte {
	b.T.Helper()
	path := filepath.Join(b.Downloads, name)
	for end := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
		if raw, err := os.ReadFile(path); err == nil && len(raw) > 0 {
			if left, _ := filepath.Glob(filepath.Join(b.Downloads, "*.crdownload")); len(left) == 0 {
				return raw
			}
		}
		if time.Now().After(end) {
			there, _ := filepath.Glob(filepath.Join(b.Downloads, "*"))
			b.T.Fatalf("%s never came; there are %q; the page says %q", name, there, b.textOf("export-state"))
		}
	}
}
