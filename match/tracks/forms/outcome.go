// Package forms writes what was found of single tracks: as a chart, a page, a table, a document
// and text. match/artefact lists these forms.
package forms

import (
	"toneplumb/match/page"
	"toneplumb/match/tracks"
)

// Outcome is what was found of the tracks, with what the player of a page plays.
type Outcome struct {
	*tracks.Advice
	Sound *page.Sound // nil: no page is written
}
