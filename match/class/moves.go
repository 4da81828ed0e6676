package class

import (
	"fmt"
	"slices"
	"strings"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/finding"
)

// moveWords returns the moves, of which there must be some, for parts.
func moveWords(r Row) []string {
	all := moves(r)
	if !r.held() {
		all[0] = "moves: " + all[0]
	}
	for i := range all[:len(all)-1] {
		all[i] += ";"
	}
	return all
}

// moves returns the moves as they are dialled, and the trim; nil if there are no moves. The first says so if those that
// the mix was bounced through are to be kept.
func moves(r Row) []string {
	var all []string
	for _, m := range r.Moves {
		width := report.Width(m)
		if term := m.Dial.Stated.Width; m.Shape == biquad.Bell && term == fit.OwnWidth || term == fit.ShelfQ {
			width = fmt.Sprintf("Q %.2f", m.Q)
		}
		all = append(all, fmt.Sprintf("%s %s %s dB %s", words.Shape(m.Shape), words.FormatHz(m.Dial.FreqHz), words.FormatGain(m.GainDB), width))
	}
	if len(all) == 0 {
		return nil
	}
	if r.held() {
		all[0] = "dialled already, keep: " + all[0]
	}
	return append(all, "trim "+words.FormatGain(r.TrimDB)+" dB")
}

// settings returns the moves and the trim in one line, "" if there are no moves.
func settings(r Row) string { return strings.Join(moves(r), "; ") }

func advice(r Row) string {
	if len(r.Moves) == 0 {
		return words.NoMoves(r.NoMoves)
	}
	return settings(r)
}

// held reports whether the moves of a row are those that its mix was bounced through, and are kept.
func (r Row) held() bool {
	return slices.ContainsFunc(r.Warnings, func(f finding.Finding) bool {
		p, is := f.(match.PreviousMoves)
		return is && p.Use == match.Held
	})
}
