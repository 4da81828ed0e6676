package browser

import (
	"fmt"
	"slices"
)

// Press presses keys: characters, tabs, and the constants of this package.
func (b *Tab) Press(keys string) {
	b.T.Helper()
	b.must(b.page.press(b.ctx, keys))
}

// Focus focuses the element of a selector.
func (b *Tab) Focus(selector string) {
	b.T.Helper()
	b.Text(fmt.Sprintf("document.querySelector(%q).focus()", selector))
}

// Files puts files from disk in a file field, as choosing them does.
func (b *Tab) Files(selector string, paths ...string) {
	b.T.Helper()
	b.must(b.page.files(b.ctx, selector, paths))
}

// drawn waits until the page was drawn twice.
const drawn = `(async () => { for (let i = 0; i < 2; i++) await new Promise((drawn) => requestAnimationFrame(drawn)); })()`

// Box scrolls an element into the middle of the window, waits until it is drawn there, and returns
// its left, top, width and height in CSS pixels. Without waiting, a click may miss it.
func (b *Tab) Box(selector string) []float64 {
	b.T.Helper()
	return Eval[[]float64](b, fmt.Sprintf(`(async () => {
		const element = document.querySelector(%q);
		element.scrollIntoView({ block: "center", behavior: "instant" });
		await %s;
		const r = element.getBoundingClientRect();
		return [r.left, r.top, r.width, r.height];
	})()`, selector, drawn))
}

// ClickAt clicks at a place in the window, in CSS pixels.
func (b *Tab) ClickAt(x, y float64) {
	b.T.Helper()
	b.must(b.page.point(b.ctx, [][2]float64{{x, y}}))
}

// Drag drags the mouse from one place in the window to another, in four steps.
func (b *Tab) Drag(fromX, fromY, toX, toY float64) {
	b.T.Helper()
	const steps = 4
	var places [][2]float64
	for i := range steps + 1 {
		share := float64(i) / steps
		places = append(places, [2]float64{fromX + share*(toX-fromX), fromY + share*(toY-fromY)})
	}
	b.must(b.page.point(b.ctx, places))
}

// still returns the box of an element once it stays where it is: a space may have scrolled the page, which
// glides.
func (b *Tab) still(selector string) []float64 {
	b.T.Helper()
	const most = 100 // pictures of the page; longer is no gliding
	box := b.Box(selector)
	for range most {
		if _, err := b.page.eval(b.ctx, drawn); err != nil {
			return box
		}
		next := b.Box(selector)
		if slices.Equal(next, box) {
			break
		}
		box = next
	}
	return box
}

// Click clicks in the middle of an element. As a person would, it clicks again if the page moved and
// the click went elsewhere.
func (b *Tab) Click(selector string) {
	b.T.Helper()
	for range 3 {
		b.Text(fmt.Sprintf(`(window.missed = true, document.querySelector(%q).addEventListener("click", () => { window.missed = false; }, { once: true, capture: true }))`, selector))
		box := b.still(selector)
		b.ClickAt(box[0]+box[2]/2, box[1]+box[3]/2)
		missed, err := b.page.eval(b.ctx, drawn+".then(() => window.missed === true)")
		if err != nil || string(missed) != "true" { // an error: the click led to another page
			return
		}
	}
	b.T.Fatalf("%s cannot be clicked", selector)
}
