package match

import (
	"math"

	"toneplumb/spectrum/finding"
)

// Named lists some of the references by name.
type Named struct {
	Names []string
	Of    int // number of all references
}

// MixItself says that these references are the mix itself.
type MixItself struct{ Named }

func (MixItself) Code() string               { return "mix-itself" }
func (MixItself) Severity() finding.Severity { return finding.Caution }

// OwnSong says that these references are the mix's own song.
type OwnSong struct{ Named }

func (OwnSong) Code() string               { return "own-song" }
func (OwnSong) Severity() finding.Severity { return finding.Caution }

// OddRecommended is an [OddReference] among the recommended ones.
type OddRecommended struct {
	Name                 string
	DistanceDB, OthersDB float64
}

func (OddRecommended) Code() string               { return "odd-reference" }
func (OddRecommended) Severity() finding.Severity { return finding.Caution }

// JudgedShort says that these references can be judged only up to a lower frequency than the
// others: LeastHz to MostHz.
type JudgedShort struct {
	Named
	LeastHz, MostHz float64
}

func (JudgedShort) Code() string               { return "judged-short" }
func (JudgedShort) Severity() finding.Severity { return finding.Info }

// NearestFindings returns what makes the figures of ranked references doubtful.
func NearestFindings(all []RankedReference) finding.List {
	highest := 0.0
	for _, n := range all {
		highest = max(highest, n.JudgedHz[1])
	}
	itself, song := MixItself{Named{Of: len(all)}}, OwnSong{Named{Of: len(all)}}
	short := JudgedShort{Named{Of: len(all)}, math.Inf(1), 0}
	var odd finding.List
	for _, n := range all {
		name := n.Reference.Name
		switch {
		case n.Itself:
			itself.Names = append(itself.Names, name)
		case n.SameSong:
			song.Names = append(song.Names, name)
		}
		if n.JudgedHz[1] < highest*0.97 { // lower by a band or more
			short.Names = append(short.Names, name)
			short.LeastHz, short.MostHz = min(short.LeastHz, n.JudgedHz[1]), max(short.MostHz, n.JudgedHz[1])
		}
		if n.Odd != nil {
			odd = append(odd, OddRecommended{name, n.Odd.DistanceDB, n.Odd.OthersDB})
		}
	}
	var found finding.List
	if itself.Names != nil {
		found = append(found, itself)
	}
	if song.Names != nil {
		found = append(found, song)
	}
	found = append(found, odd...)
	if short.Names != nil {
		found = append(found, short)
	}
	return found
}
