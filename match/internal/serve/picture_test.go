package serve

import (
	"os"
	"path/filepath"
	"testing"

	"toneplumb/spectrum/testkit"
)

// TestPicture draws the README's picture of the page anew: the demo, in a window of 1280 by
// 800. It is for people, so no other run compares it.
func TestPicture(t *testing.T) {
	testkit.Long(t, "makes the demo, to draw the README's picture")
	v := start(t)
	b := v.open()
	b.As(1280, 800, "light")
	b.Click("#demo")
	b.Until(`document.getElementById("headline").textContent.includes("dB from") && !app.answer?.waiting`)
	b.Until(`document.getElementById("true-peak-after").textContent.includes("dBTP")`)
	png := b.Window()
	if err := os.WriteFile(filepath.Join("..", "..", "..", "examples", "walks", "page.png"), png, 0o644); err != nil {
		t.Fatal(err)
	}
}
