package match

import (
	"errors"
	"fmt"
	"math"

	"toneplumb/biquad/fit"
	"toneplumb/match/uncertainty"
	"toneplumb/spectrum/finding"
)

// CompareOptions say how two recordings are compared. Start from [DefaultCompare].
type CompareOptions struct {
	SmoothOct float64    // smoothing of drawn curves in octaves: 1, 1/2, 1/3, 1/6, 1/12 or 1/24
	RangeHz   [2]float64 // the range to judge, within 20 Hz to 20 kHz and at least an octave
}

// SolveOptions say how far to go and with which equaliser. Start from [DefaultSolve]. Requests of
// the page and JSON documents hold the fields with a name in JSON.
type SolveOptions struct {
	Stage         Stage         `json:"-"`                 // how far off the mix may be
	MaxMoves      int           `json:"-"`                 // most moves to advise, 0 to MaxMoves
	TowardPercent float64       `json:"toward_percent"`    // how much of the target to follow
	LeastDB       float64       `json:"least_db,omitzero"` // the smallest gain of a move; 0: any
	Equaliser     fit.Equaliser `json:"-"`                 // what can be dialled; without any filter the common one, see Dials
	ExactMoves    bool          `json:"-"`                 // exactly MaxMoves moves, even if fewer are enough
	Continuous    bool          `json:"-"`                 // do not round to the steps of the dials
}

// Number is an option of the advice that is one number, with all that the command line and the
// page need to ask for it.
type Number struct {
	Flag, Usage   string  // on the command line; a word in backticks stands for the value
	Name, Label   string  // in JSON, and beside the field of the page
	Subject, Unit string  // what an error calls it; "%" or "dB"
	Least, Most   float64 // 0, or between these
	Step          float64 // of the page's buttons
	Of            func(*SolveOptions) *float64
}

// Numbers are the options of the advice that are one number. Every front end that compares recordings has all of them.
var Numbers = []Number{
	{Flag: "toward", Usage: "go `PERCENT` of the way to the reference", Name: "toward_percent", Label: "towards reference",
		Subject: "how far towards the reference", Unit: "%", Least: 1, Most: 100, Step: 5,
		Of: func(o *SolveOptions) *float64 { return &o.TowardPercent }},
	// Our choice of ends: a dial's smallest usual step, and what the default equaliser has.
	{Flag: "least", Usage: "no move smaller than `DB`, so fewer and larger ones", Name: "least_db", Label: "smallest move",
		Subject: "the smallest gain of a move", Unit: "dB", Least: 0.1, Most: 6, Step: 0.5,
		Of: func(o *SolveOptions) *float64 { return &o.LeastDB }},
}

// Usual returns the option's default.
func (n Number) Usual() float64 {
	o := DefaultSolve()
	return *n.Of(&o)
}

// DefaultCompare returns third-octave smoothing and a range of 40 Hz to 16 kHz. A third of an
// octave is near the ear's own bandwidth (common practice, no source); most rooms and lossy
// recordings hold that range.
func DefaultCompare() CompareOptions {
	return CompareOptions{SmoothOct: 1.0 / 3, RangeHz: [2]float64{40, 16000}}
}

// DefaultSolve returns at most four moves, 60 % of the way, on the common
// equaliser. Our choice: a single reference is mostly arrangement, and two
// songs by one maker usually differ by 3 to 6 dB (testdata/README.md, "How far apart songs are").
func DefaultSolve() SolveOptions {
	return SolveOptions{MaxMoves: 4, TowardPercent: defaultTowardPercent}
}

// Dials returns the equaliser that is dialled: o.Equaliser, or if that has no filter the common one. As
// measured the common one's gains reach twice as far: with ±6 dB four moves left half of a difference
// of songs and followed 0.70 of a known filter; see testdata/README.md, "Decision 1b".
func (o SolveOptions) Dials() fit.Equaliser {
	switch {
	case o.Equaliser.Offers():
		return o.Equaliser
	case o.Stage == AsMeasured:
		return fit.Common(12)
	}
	return fit.Default()
}

const defaultTowardPercent = 60.0

// MaxMoves is the largest number of moves that can be asked for. Our choice: more are no longer
// broad.
const MaxMoves = 8

// Check returns an error that names the option out of range, nil if there is none.
func (o CompareOptions) Check() error {
	smooth := false
	for _, n := range []float64{1, 2, 3, 6, 12, 24} {
		smooth = smooth || o.SmoothOct == 1/n
	}
	if !smooth {
		return fmt.Errorf("smoothing must be 1/1, 1/2, 1/3, 1/6, 1/12 or 1/24 octave")
	}
	low, high := o.RangeHz[0], o.RangeHz[1]
	if !(low >= 20 && high <= 20000 && high >= 2*low) {
		return fmt.Errorf("the range must lie within 20 Hz to 20 kHz and span an octave at least")
	}
	return nil
}

// Check returns an error that names the option out of range or two that clash, nil if there is none. It does
// not check o.Equaliser.
func (o SolveOptions) Check() error {
	if o.MaxMoves < 0 || o.MaxMoves > MaxMoves {
		return fmt.Errorf("the number of moves must be 0 to %d", MaxMoves)
	}
	if o.ExactMoves && o.LeastDB > 0 {
		return finding.OptionsClash.Of(errors.New("an exact number of moves and a smallest gain of a move exclude each other"))
	}
	for _, n := range Numbers {
		if x := *n.Of(&o); !(x == 0 || x >= n.Least && x <= n.Most) {
			return fmt.Errorf("%s must be 0 or %g to %g %s", n.Subject, n.Least, n.Most, n.Unit)
		}
	}
	return nil
}

// Stage says how far off a mix may be. Only the person at the desk knows that: from one other
// song, a fault of tone cannot be separated from arrangement.
type Stage uint8

const (
	Rough      Stage = iota // the start of a mix: faults of 2 to 6 dB rms
	Finished                // a finished mix: faults under 2 dB
	AsMeasured              // follow the reference including its arrangement
)

var stageNames = [...]string{"rough", "finished", "as measured"}

// String returns the name that [ParseStage] reads.
func (s Stage) String() string { return stageNames[s] }

// ParseStage returns the stage of a name; the error lists the names.
func ParseStage(name string) (Stage, error) {
	for s, known := range stageNames {
		if name == known {
			return Stage(s), nil
		}
	}
	return 0, fmt.Errorf("there is no stage %q; there are rough, finished and as measured", name)
}

// faultDB returns the prior size of a fault of tone at this stage: the standard deviation of a
// band in dB. Chosen on nine of sixteen packages of songs, by filters beside one song of the same
// maker: of 2 dB rms for a finished mix, of 4 and 6 dB for a rough one. See testdata/README.md,
// "Decision 1: what is tone and what is arrangement".
func (s Stage) faultDB() float64 {
	if s == Finished {
		return 2
	}
	return 6
}

// prior returns what is assumed about the tone difference. At AsMeasured every difference is
// tone, down to the width of the smoothing.
func (s Stage) prior(c *Comparison) uncertainty.TonePrior {
	if s == AsMeasured {
		return uncertainty.Exact(max(2, c.judged.Distance(c.DifferenceDB)), AdviceSmoothOct)
	}
	if c.ownSong() { // a song does not stand out from itself
		return uncertainty.Songs(s.faultDB(), nil, 1)
	}
	return uncertainty.Songs(s.faultDB(), c.referenceDB, len(c.References))
}

// farthestDB returns the distance in dB beyond which a reference is too unlike to advise
// anything. Pairs of songs by one maker lie within 7.8 dB in 9 of 10 cases, within 9.7 in 19 of
// 20; a rough mix may be several decibels off besides. Chosen on songs: farther than 13 dB, rough
// mixes gain little; at 11.4 more is left of 6 dB faults. Finished mixes stop at 7 dB: 7.8 harmed
// more of them and left no less. To the mean of R references a song is nearer than to one of them,
// by the variance 1 + 1/R instead of 2; finished mixes, whose limit is low already, gained nothing by
// that. See testdata/README.md, "How far apart songs are", "Refusing sooner"
// and "Decision 1d: what songs have in common".
func (s Stage) farthestDB(references int) float64 {
	if s == Finished {
		return 7
	}
	return 13 * math.Sqrt((1+1/float64(references))/2)
}

// Alternative summarises the moves at another stage.
type Alternative struct {
	Stage           Stage
	Outlook         Outlook
	Moves           int
	LargestDB       float64 // the largest gain, without sign
	DistanceAfterDB float64 // rms, ignoring level
}

// SetOthers sets r.Others, in the order of the stages. A copy is followed as it is at every stage, so it has none.
// For any other reference it takes twice as long as finding the moves did.
func (r *Result) SetOthers() {
	r.Others = []Alternative{}
	for _, stage := range []Stage{Rough, Finished, AsMeasured} {
		o := r.SolveOptions
		if stage == o.Stage || r.followed {
			continue
		}
		o.Stage = stage
		other := r.Comparison.Solve(o)
		a := Alternative{Stage: stage, Outlook: other.Outlook, Moves: len(other.Moves), DistanceAfterDB: other.DistanceAfterDB}
		for _, m := range other.Moves {
			a.LargestDB = max(a.LargestDB, math.Abs(m.GainDB))
		}
		r.Others = append(r.Others, a)
	}
}
