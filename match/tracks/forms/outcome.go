// Package forms writes a [tracks.Advice] as a chart, a page, a table, a document or text.
// Package match/artefact lists these forms.
package forms

import (
	"toneplumb/match/page"
	"toneplumb/match/tracks"
)

// Outcome is the advice about the tracks, with the sound for the player of a page.
type Outcome struct {
	*tracks.Advice
	Sound *page.Sound // nil: no page is written
}
