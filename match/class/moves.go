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
	lead := "moves: "
	if r.held() {
		lead = keep
	}
	all[0] = lead + all[0]
	for i := range all[:len(all)-1] {
		all[i] += ";"
	}
	return all
}

// moves returns the moves as they are dialled, and the trim; nil if there are no moves.
func moves(r Row) []string {
	var all []string
	for _, m := range r.Moves {
		width := report.Width(m)
		if term := m.Dial.Stated.Width; m.Shape == biquad.Bell && term == fit.OwnWidth || term == fit.ShelfQ {
			width = fmt.Sprintf("Q %.2f", m.Q)
		}
		all = append(all, fmt.Sprintf("%s %s %s dB %s", words.Shape(m.Shape), words.FormatHz(m.Dial.FreqHz), words.FormatGain(m.GainDB), width))
	}
	if len(all) > 0 {
		all = append(all, "trim "+words.FormatGain(r.TrimDB)+" dB")
	}
	return all
}

// settings returns the moves and the trim in one line, "" if there are no moves.
func settings(r Row) string {
	text := strings.Join(moves(r), "; ")
	if r.held() {
		return keep + text
	}
	return text
}

func advice(r Row) string {
	if len(r.Moves) == 0 {
		return words.NoMoves(r.NoMoves)
	}
	return settings(r)
}

// keep precedes moves that are dialled already.
const keep = "dialled already, keep: "

// held reports whether the moves of a row are those that its mix was bounced through, and are kept.
func (r Row) held() bool {
	return slices.ContainsFunc(r.Warnings, func(f finding.Finding) bool {
		p, is := f.(match.PreviousMoves)
		return is && p.Use == match.Held
	})
}
