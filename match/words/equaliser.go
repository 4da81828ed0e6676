package words

import (
	"fmt"
	"math"
	"strings"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match/probe"
	"toneplumb/spectrum/finding"
)

// FilterTerms returns a filter in the cookbook's terms, without its shape: "1 kHz −3.0 dB Q 1.40".
func FilterTerms(f biquad.Filter) string {
	if f.Shape.IsCut() {
		return fmt.Sprintf("%s, %d dB/oct", FormatHz(f.FreqHz), f.CutDBPerOct)
	}
	width := fmt.Sprintf("Q %.2f", f.Q)
	if f.Shape != biquad.Bell {
		width = fmt.Sprintf("S %.2f", biquad.SlopeFromQ(f.Q, f.GainDB))
	}
	return fmt.Sprintf("%s %s dB %s", FormatHz(f.FreqHz), FormatGain(f.GainDB), width)
}

// Print says what a print is: its filter, or that it was dialled wrong.
func Print(s *probe.Measured) string {
	switch {
	case s.NotDialled:
		return "not dialled"
	case s.Shape.IsCut() && s.Filter.CutDBPerOct == 0:
		return "no cut that is known"
	case s.Shape.IsCut():
		return fmt.Sprintf("%d dB/oct", s.Filter.CutDBPerOct)
	case s.OtherWay:
		return fmt.Sprintf("the other way: %s dB", FormatGain(s.Filter.GainDB))
	}
	return FilterTerms(s.Filter)
}

// PrintOff says how far a print is from the cookbook's filter of its setting.
func PrintOff(s *probe.Measured) string {
	switch {
	case s.NotDialled, s.OtherWay:
		return ""
	case math.Abs(s.WorstDB) < 0.005:
		return "0.00 dB"
	}
	return fmt.Sprintf("%.2f dB at %s", math.Abs(s.WorstDB), FormatHz(s.WorstHz))
}

// Dials says what the dials of a shape mean.
func Dials(e *probe.Equaliser, shape biquad.Shape) string {
	m, rest := e.Terms[shape], e.RestDB[shape]
	if rest > probe.UnlikeDB {
		return fmt.Sprintf("none of the known meanings of its dials fits: the nearest leaves %.2f dB rms. The table shows what each print is.", rest)
	}
	var parts []string
	say := func(format string, args ...any) { parts = append(parts, fmt.Sprintf(format, args...)) }
	firstOrder := m.Stated.Width == fit.NoWidth && math.Abs(m.FixedWidth-0.5) < 0.005 && shape != biquad.Bell
	switch {
	case firstOrder:
		say("a first-order shelf, as gentle as slope S 0.5%s", whatever(e, shape))
	case m.FixedWidth > 0 && (m.Stated.Width == fit.ShelfQ || shape == biquad.Bell):
		say("the width is Q %.3g%s", m.FixedWidth, whatever(e, shape))
	case m.FixedWidth > 0:
		say("the slope is S %.3g%s", m.FixedWidth, whatever(e, shape))
	case m.WidthInHz:
		say("the width dial is in Hz: the frequency over Q")
	default:
		say("the width dial is %s", widthDial(m, shape))
	}
	parts = append(parts, widthLaw(m.Stated.Law, shape)...)
	if shape != biquad.Bell {
		if m.Stated.Freq == fit.Corner {
			say("the frequency is the corner, where the shelf leaves the flat side")
		} else {
			say("the frequency is where half the gain is reached")
		}
	}
	say("all prints of it are explained within %.2f dB rms", max(rest, 0.01))
	return strings.Join(parts, "; ")
}

// whatever says that the width does not follow its dial, if prints at two widths show it.
func whatever(e *probe.Equaliser, shape biquad.Shape) string {
	dialled := map[float64]bool{}
	for _, s := range e.Measured {
		if s.Shape == shape && !s.Flat && s.Width > 0 {
			dialled[s.Width] = true
		}
	}
	switch len(dialled) {
	case 0:
		return ""
	case 1:
		return " at the one width that was printed (print another to learn the dial)"
	}
	return " whatever is dialled"
}

// widthDial names the unit of the width dial.
func widthDial(m probe.Convention, shape biquad.Shape) string {
	text := map[fit.WidthTerm]string{
		fit.OwnWidth: "Q", fit.ShelfQ: "Q", fit.DBPerOct: "dB per octave at the steepest",
		fit.Octaves: "octaves between half-gain points", fit.Octaves3DB: "octaves between points 3 dB off the peak",
	}[m.Stated.Width]
	if m.Stated.Width == fit.OwnWidth && shape != biquad.Bell {
		text = "the slope S"
	}
	if f := m.Stated.Law.Factor; f != 0 && f != 1 {
		text += fmt.Sprintf(" times %.3g", 1/f)
	}
	if m.KeptNearTop {
		text += ", kept near the top"
	}
	return text
}

// widthLaw says how cuts differ from boosts, and how the width depends on the gain.
func widthLaw(l fit.WidthLaw, shape biquad.Shape) (parts []string) {
	how := func(narrower bool) string {
		if shape != biquad.Bell {
			return Either(narrower, "steeper", "gentler")
		}
		return Either(narrower, "narrower", "wider")
	}
	if l.CutFactor != 0 && l.CutFactor != 1 {
		parts = append(parts, fmt.Sprintf("cuts are %s than boosts at the same dial, by a factor of %.3g", how(l.CutFactor > 1), math.Max(l.CutFactor, 1/l.CutFactor)))
	}
	if l.GainPower != 0 {
		times := math.Pow(10, math.Abs(l.GainPower)*6/40)
		parts = append(parts, fmt.Sprintf("the width follows the gain: %s with more of it, by a factor of %.2f from 6 to 12 dB", how(l.GainPower > 0), times))
	}
	return parts
}

// DialNotes returns what the description of an equaliser has no field for.
func DialNotes(e *probe.Equaliser) []string {
	var notes []string
	if e.Terms[biquad.Bell].WidthInHz {
		notes = append(notes, "width dial of bells in Hz: dial the frequency over Q")
	}
	if e.Oversampling > 1 {
		notes = append(notes, "above 5 kHz dial as eqread corrects it")
	}
	return notes
}

// NearHalfRate says what happens near half the rate.
func NearHalfRate(e *probe.Equaliser) string {
	rate, of := fmt.Sprintf("%g kHz", float64(e.RateHz)/1000), fmt.Sprintf("filters at %g times the rate", e.Oversampling)
	switch e.Oversampling {
	case 1:
		return fmt.Sprintf("near half the rate the responses are squeezed as the cookbook's are at %s; moves need no correction.", rate)
	case probe.Analogue:
		of = "analogue filters"
	}
	return fmt.Sprintf("near half the rate the responses are those of %s, wider than the cookbook's at %s, in which moves are advised.", of, rate)
}

// ofPrints returns a finding about prints of a probe or a second bounce, without capital or full stop; "" for any other.
func ofPrints(of finding.Finding) string {
	f, _ := of.(probe.Finding)
	switch db := math.Abs(f.DB); f.Kind {
	case probe.NotDialled:
		return fmt.Sprintf("print %d is flat: a dial was forgotten, or the equaliser was off; print it again, or leave it out", f.Print)
	case probe.OtherWay:
		return fmt.Sprintf("print %d goes the other way: it has %s dB where %s dB were to be dialled; nothing was learnt from it", f.Print, FormatGain(f.DB), FormatGain(f.WantDB))
	case probe.PrintInverted:
		return fmt.Sprintf("print %d is inverted", f.Print)
	case probe.PrintLevel:
		return fmt.Sprintf("print %d is %s dB in level beside its setting", f.Print, FormatGain(f.DB))
	case probe.FlatNotFlat:
		return fmt.Sprintf("flat is not flat: %.2f dB at %s; this was taken off the other prints", db, FormatHz(f.Hz))
	case probe.NoisyPrints:
		return fmt.Sprintf("the silence of a print holds sound only %.0f dB under the probe: mute reverb and all else", db)
	case probe.BounceClipped:
		return fmt.Sprintf("the second bounce is clipped in %s, which is not the equaliser's doing: turn it down and bounce again", Count(f.Places, "place"))
	case probe.Balance:
		return fmt.Sprintf("the %s is %.1f dB louder beside the other than before: look for a balance or pan control", Either(f.DB < 0, "left", "right"), db)
	case probe.SidesUnlike:
		return fmt.Sprintf("left and right are not alike: %.1f dB apart at %s; set both sides the same", db, FormatHz(f.Hz))
	case probe.NoFilter:
		return fmt.Sprintf("something beside a filter came in, %.0f dB under the sound: saturation, a compressor or limiter, noise, or another sound", db)
	}
	return ""
}

// LeftOutOfBounce returns why a band of a second bounce is left out, "" if it is judged.
func LeftOutOfBounce(c probe.Cause) string {
	return map[probe.Cause]string{probe.OutsideRecording: "outside the recording", probe.HardlyMusic: "hardly any music", probe.MuchElse: "too much else in it"}[c]
}

// Lag says how a second bounce lies to the first in time, and whether it is inverted.
func Lag(t *probe.TransferFunction) string {
	text := "starts together"
	if ms := math.Abs(t.LagSec) * 1000; ms >= 0.1 {
		text = fmt.Sprintf("%.1f ms %s", ms, Either(t.LagSec > 0, "later", "earlier"))
	}
	return text + Either(t.Inverted, ", inverted", "")
}

// TrimGot returns the trim that the music got.
func TrimGot(t *probe.TransferFunction) string {
	return Either(t.LevelDB >= 0.005, "+", "") + Fixed(t.LevelDB, 2, minus) + " dB" // less is printed as 0.00
}

// AskedOrNot says which dials of a move to look at.
func AskedOrNot(m probe.MoveGot) string {
	if m.Asked.Shape.IsCut() {
		return "not checked"
	}
	var off []string
	for _, d := range m.Off() {
		off = append(off, [...]string{probe.Gain: "gain", probe.Freq: "frequency", probe.Width: "width"}[d])
	}
	if off == nil {
		return "as asked"
	}
	return "check " + strings.Join(off, ", ")
}

// Dialled says whether an equaliser is dialled as asked.
func Dialled(t *probe.TransferFunction) string {
	worstDB := math.Abs(t.WorstDB)
	if worstDB <= probe.UnlikeDB {
		return fmt.Sprintf("It is dialled right: the curve is nowhere more than %.2f dB from what was asked, ignoring level.", worstDB)
	}
	return fmt.Sprintf("The curve is up to %.2f dB from what was asked, at %s, ignoring level.", worstDB, FormatHz(t.WorstHz))
}
