package browser

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// As shows the page in a window of that size, on "light" or "dark" paper, or as "print dark". Only
// Chromium can change the paper.
func (b *Tab) As(width, height int64, paper string) {
	b.T.Helper()
	b.must(b.page.show(b.ctx, width, height, paper))
	Eval[any](b, drawn) // the page learns of it only then
}

// Narrow fails the test if the page is wider than a window of that width.
func (b *Tab) Narrow(width int64) {
	b.T.Helper()
	if wide := Eval[int64](b, "document.documentElement.scrollWidth"); wide > width {
		b.T.Errorf("at %d pixels the page is %d wide: %s", width, wide, b.Text(fmt.Sprintf(
			`[...document.querySelectorAll("body *:not(svg *)")].filter((e) => e.getBoundingClientRect().right + scrollX > %d).map((e) => e.tagName + "." + e.className + "#" + e.id).slice(0, 12).join(" ")`, width)))
	}
}

// Shots returns the folder for pictures to look at: that in TONEPLUMB_SHOTS, or a temporary one.
func Shots(t testing.TB) string {
	if folder := os.Getenv("TONEPLUMB_SHOTS"); folder != "" {
		return folder
	}
	return t.TempDir()
}

// Shot takes and returns a picture of the whole page as PNG. It also keeps it if TONEPLUMB_SHOTS
// names a folder.
func (b *Tab) Shot(name string) []byte {
	b.T.Helper()
	png, err := b.page.picture(b.ctx, true)
	b.must(err)
	if folder := os.Getenv("TONEPLUMB_SHOTS"); folder != "" {
		b.must(os.WriteFile(filepath.Join(folder, name+".png"), png, 0o644))
	}
	return png
}

// Window takes a picture of the window as PNG.
func (b *Tab) Window() []byte {
	b.T.Helper()
	png, err := b.page.picture(b.ctx, false)
	b.must(err)
	return png
}

// PDF prints the page on A4.
func (b *Tab) PDF() []byte {
	b.T.Helper()
	pdf, err := b.page.pdf(b.ctx)
	b.must(err)
	return pdf
}

// Accessible fails the test if axe-core, which looks for barriers in pages, finds something serious
// in the element of a selector. TONEPLUMB_AXE is the path of its axe.min.js.
func (b *Tab) Accessible(what, selector string) {
	b.T.Helper()
	if b.Text(`typeof axe`) == "undefined" {
		axe, err := os.ReadFile(os.Getenv("TONEPLUMB_AXE"))
		switch {
		case err == nil:
			b.Text("(() => { " + string(axe) + "\n; window.axe = window.axe ?? axe; return 1; })()")
		case os.Getenv("TONEPLUMB_ORACLES") == "required" || os.Getenv("TONEPLUMB_AXE") != "":
			b.T.Fatalf("axe-core (TONEPLUMB_AXE=…/axe.min.js): %v", err)
		default:
			b.T.Logf("%s: TONEPLUMB_AXE is not set, accessibility is not checked", what)
			return
		}
	}
	for _, f := range Eval[[]string](b, fmt.Sprintf(`axe.run(%q).then((r) => r.violations.map((v) => v.impact + ": " + v.id + ": " + v.nodes.map((n) => n.target.join(" ") + " " + n.failureSummary).join("; ")))`, selector)) {
		if strings.HasPrefix(f, "serious") || strings.HasPrefix(f, "critical") {
			b.T.Errorf("%s: %s", what, f)
		} else {
			b.T.Logf("%s: %s", what, f)
		}
	}
}
