package match

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"toneplumb/spectrum/audio"
)

// mostNamed references are numbered in a remark about several. Our choice: what one
// looks up one by one.
const mostNamed = 5

// someReferences is how some of so many references are called: the one, all, or how
// many and, of a few, which. It takes their numbers from 0.
func someReferences(which []int, of int) string {
	n := len(which)
	switch {
	case n == 1:
		return ReferenceName(which[0], of)
	case n == of && n == 2:
		return "both references"
	case n == of:
		return fmt.Sprintf("all %d references", of)
	case n > mostNamed:
		return fmt.Sprintf("%d of %d references", n, of)
	}
	var numbers []string
	for _, i := range which {
		numbers = append(numbers, fmt.Sprint(i+1))
	}
	return fmt.Sprintf("%d of %d references (%s)", n, of, strings.Join(numbers, ", "))
}

// someSides are some of the sides that Comparison.sides returns: the mix, which has a
// remark of its own, and references, which share one.
func (c *Comparison) someSides(has func(i int) bool) (mix bool, references []int) {
	for i := range c.References {
		if has(i + 1) {
			references = append(references, i)
		}
	}
	return has(0), references
}

// fileWarnings are what is to be said of the files: of references one remark of a kind,
// which is what is the same but for its numbers.
func (c *Comparison) fileWarnings() []string {
	var all, kinds []string
	for _, w := range c.Mix.Warnings {
		all = append(all, "the mix: "+w)
	}
	which, first, alike := map[string][]int{}, map[string]string{}, map[string]bool{}
	for i, ref := range c.References {
		of := map[string]int{} // this reference's so far
		for _, w := range ref.Warnings {
			kind := numbers.ReplaceAllString(w, "0")
			of[kind]++
			kind += strings.Repeat(" again", of[kind]-1)
			if which[kind] == nil {
				kinds, first[kind], alike[kind] = append(kinds, kind), w, true
			}
			which[kind], alike[kind] = append(which[kind], i), alike[kind] && w == first[kind]
		}
	}
	for _, kind := range kinds {
		who := someReferences(which[kind], len(c.References))
		if !alike[kind] && len(which[kind]) > 1 {
			who += fmt.Sprintf(", reference %d for example", which[kind][0]+1)
		}
		all = append(all, who+": "+first[kind])
	}
	return all
}

var numbers = regexp.MustCompile(`[0-9]+([.:,][0-9]+)*`)

// thin tells which sides are short of music.
func (c *Comparison) thin() []string {
	sides := c.sides()
	mix, references := c.someSides(func(i int) bool { return sides[i].MusicSec() < thinSec })
	who := someReferences(references, len(c.References))
	var all []string
	one := func(who string, sec float64) {
		all = append(all, fmt.Sprintf("%s holds only %s of music: its tone is that of a phrase, not of a song", who, audio.Clock(sec)))
	}
	if mix {
		one("the mix", c.Mix.MusicSec())
	}
	switch n := len(references); {
	case n == 1:
		one(who, c.References[references[0]].MusicSec())
	case n > 1:
		least, most := span(references, func(i int) float64 { return c.References[i].MusicSec() })
		long := audio.Clock(least)
		if end := audio.Clock(most); end != long {
			long += " to " + end
		}
		all = append(all, fmt.Sprintf("%s hold only %s of music each: their tone is that of phrases, not of songs", who, long))
	}
	return all
}

// span returns the least and the greatest of some values.
func span(which []int, of func(i int) float64) (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	for _, i := range which {
		least, most = min(least, of(i)), max(most, of(i))
	}
	return least, most
}

// cutoffs tells which sides end early, and with the one that ends first that nothing is
// advised beyond.
func cutoffs(r *Result) []string {
	// nearest to the end of the range within a band says nothing
	const band = 1.03
	sides := r.sides()
	lowest := math.Inf(1)
	for _, side := range sides {
		if side.CutoffHz > 0 {
			lowest = min(lowest, side.CutoffHz)
		}
	}
	mix, references := r.someSides(func(i int) bool {
		return sides[i].CutoffHz > 0 && sides[i].CutoffHz/cutoffMargin*band <= r.Options.RangeHz[1]
	})
	var all []string
	say := func(text string, leastHz float64) {
		if leastHz == lowest {
			text += "; nothing is advised above " + Hertz(leastHz/cutoffMargin)
		}
		all = append(all, text)
	}
	if hz := r.Mix.CutoffHz; mix {
		say(fmt.Sprintf("the mix stops at %s, %s", Hertz(hz), asCoded(hz)), hz)
	}
	if len(references) == 0 {
		return all
	}
	who, verb := someReferences(references, len(r.References)), "stop"
	if len(references) == 1 {
		verb = "stops"
	}
	least, most := span(references, func(i int) float64 { return r.References[i].CutoffHz })
	if asCoded(least) == asCoded(most) && Hertz(least) == Hertz(most) {
		say(fmt.Sprintf("%s %s at %s, %s", who, verb, Hertz(least), asCoded(least)), least)
	} else {
		say(fmt.Sprintf("%s %s between %s and %s, as lossy coding or lower sample rates leave them", who, verb, Hertz(least), Hertz(most)), least)
	}
	return all
}
