package plots

import (
	"testing"
)

// A larger value is darker on white paper and lighter on dark. Each number has enough contrast
// to its cell.
func TestGridTones(t *testing.T) {
	const least = 4.5 // WCAG 2.1, 1.4.3
	for name, tones := range map[string]*tones{"light": &light, "dark": &dark} {
		last := brightness(tones.paper)
		for x := -0.1; x <= 1.1; x += 0.05 {
			tone := tones.shade(x)
			now := brightness(tone)
			if tones == &light && now > last || tones == &dark && now < last {
				t.Errorf("%s: %.2f is not beyond what is less", name, x)
			}
			last = now
			a, b := brightness(readable(tone))+flare, now+flare
			if ratio := max(a/b, b/a); ratio < least {
				t.Errorf("%s: at %.2f the number stands out by %.1f, want %g", name, x, ratio, least)
			}
		}
	}
}
