package cli

import (
	"fmt"
	"io"
	"math"

	"toneplumb/biquad"
	"toneplumb/biquad/fit"
	"toneplumb/match"
	"toneplumb/match/probe"
	"toneplumb/match/report"
	"toneplumb/match/words"
)

// learntShapes in the order they are told.
var learntShapes = []biquad.Shape{biquad.LowShelf, biquad.Bell, biquad.HighShelf}

// unlikeDB is how far a response may be from what its dials say without a word. Our
// choice: half of what the finest gain dials show.
const unlikeDB = 0.1

func writeLearnt(w io.Writer, e *probe.Equaliser, description string) error {
	t := &report.TextReport{}
	t.WriteString("print  dialled                               is                         off by\n")
	for _, s := range e.Measured {
		if s.Flat {
			fmt.Fprintf(t, "%5d  everything at 0 dB                                               %s\n", s.Number, offWords(s))
			continue
		}
		asked := fmt.Sprintf("%s %s", words.Shape(s.Shape), words.FormatHz(s.FreqHz))
		got := "no cut that is known"
		if s.Shape.IsCut() {
			if s.Filter.CutDBPerOct > 0 {
				got = fmt.Sprintf("%d dB/oct", s.Filter.CutDBPerOct)
			}
		} else {
			asked += fmt.Sprintf(" %s dB", words.FormatGain(s.GainDB))
			if s.Width > 0 {
				asked += fmt.Sprintf(" width %g", s.Width)
			}
			got = filterWords(s.Filter)
		}
		fmt.Fprintf(t, "%5d  %-37s %-26s %s\n", s.Number, asked, got, offWords(s))
	}
	t.WriteString("\n")
	for _, shape := range learntShapes {
		if m, learnt := e.Terms[shape]; learnt {
			t.Paragraph(fmt.Sprintf("%-11s ", shape.String()+":"), meaningWords(shape, m, e.RestDB[shape]))
		}
	}
	t.Paragraph("top:        ", topWords(e))
	corrections(t, e)
	t.Warnings(learntMind(e))
	if description != "" {
		fmt.Fprintf(t, "\nwrote %s: give it to match with --eq; its ranges and steps may be edited\n", report.Printable(description))
	}
	return t.WriteOut(w)
}

func offWords(s *probe.Measured) string {
	if math.Abs(s.WorstDB) < 0.005 {
		return "0.00 dB"
	}
	return fmt.Sprintf("%.2f dB at %s", math.Abs(s.WorstDB), words.FormatHz(s.WorstHz))
}

// filterWords is a filter in the cookbook's terms.
func filterWords(f biquad.Filter) string {
	if f.Shape.IsCut() {
		return fmt.Sprintf("%s, %d dB/oct", words.FormatHz(f.FreqHz), f.CutDBPerOct)
	}
	width := fmt.Sprintf("Q %.2f", f.Q)
	if f.Shape != biquad.Bell {
		width = fmt.Sprintf("S %.2f", biquad.SlopeFromQ(f.Q, f.GainDB))
	}
	return fmt.Sprintf("%s %s dB %s", words.FormatHz(f.FreqHz), words.FormatGain(f.GainDB), width)
}

// meaningWords says what the dials of a shape stand for.
func meaningWords(shape biquad.Shape, m probe.DialTerms, rest float64) string {
	text := ""
	if shape != biquad.Bell {
		text = "the frequency is where half the gain is reached; "
		if m.Stated.Freq == fit.Corner {
			text = "the frequency is the corner, where the shelf leaves the flat side; "
		}
	}
	dial := map[fit.WidthTerm]string{
		fit.OwnWidth: "the width dial is Q", fit.ShelfQ: "the width dial is Q", fit.DBPerOct: "the width dial is dB per octave at the steepest",
		fit.Octaves: "the width dial is octaves between half-gain points", fit.Octaves3DB: "the width dial is octaves between points 3 dB off the peak",
	}[m.Stated.Width]
	if m.Stated.Width == fit.OwnWidth && shape != biquad.Bell {
		dial = "the width dial is the slope S"
	}
	switch {
	case m.FixedWidth > 0 && (m.Stated.Width == fit.ShelfQ || shape == biquad.Bell):
		dial = fmt.Sprintf("the width stands at Q %.3g whatever is dialled", m.FixedWidth)
	case m.FixedWidth > 0:
		dial = fmt.Sprintf("the slope stands at S %.3g whatever is dialled", m.FixedWidth)
	case m.WidthInHz:
		dial = "the width dial is in Hz: the frequency over Q"
	case m.KeptNearTop:
		dial += ", kept near the top"
	}
	text += dial
	if rest > unlikeDB {
		return fmt.Sprintf("%s; but that explains the prints only to %.2f dB rms: none of the known meanings is its own", text, rest)
	}
	return fmt.Sprintf("%s; all prints of it are explained to %.3f dB rms", text, rest)
}

// meaningNotes are what the description has no field for.
func meaningNotes(e *probe.Equaliser) []string {
	var notes []string
	if e.Terms[biquad.Bell].WidthInHz {
		notes = append(notes, "width dial of bells in Hz: dial the frequency over Q")
	}
	if e.Oversampling > 1 {
		notes = append(notes, "above 5 kHz dial as eqread corrects it")
	}
	return notes
}

func topWords(e *probe.Equaliser) string {
	rate := fmt.Sprintf("%g kHz", float64(e.RateHz)/1000)
	switch e.Oversampling {
	case 1:
		return fmt.Sprintf("near half the rate the responses are squeezed as the cookbook's are at %s; moves need no correction.", rate)
	case probe.Analogue:
		return fmt.Sprintf("near half the rate the responses are those of analogue filters, wider than the cookbook's at %s, in which moves are advised.", rate)
	}
	return fmt.Sprintf("near half the rate the responses are those of filters at %g times the rate, wider than the cookbook's at %s, in which moves are advised.", e.Oversampling, rate)
}

func corrections(t *report.TextReport, e *probe.Equaliser) {
	all := e.Corrections()
	if len(all) == 0 {
		return
	}
	t.WriteString("\nmove advised                      dial instead                 off as is  then\n")
	for _, c := range all {
		shown := c.Dial
		shown.FreqHz = c.FreqHz
		fmt.Fprintf(t, "%-10s %-22s %-28s  %.2f dB    %.2f dB\n", c.Advised.Shape, filterWords(c.Advised), filterWords(shown), c.OffDB, c.LeftDB)
	}
}

func learntMind(e *probe.Equaliser) []string {
	var all []string
	noise := math.Inf(-1)
	for _, s := range e.Measured {
		noise = math.Max(noise, s.Response.NoiseDB)
		if s.Response.Inverted {
			all = append(all, fmt.Sprintf("print %d is turned over in polarity", s.Number))
		}
		if !s.Flat && math.Abs(s.LevelDB) > unlikeDB {
			all = append(all, fmt.Sprintf("print %d is %s dB in level beside its setting", s.Number, words.FormatGain(s.LevelDB)))
		}
		if s.Flat && math.Abs(s.WorstDB) > unlikeDB {
			all = append(all, fmt.Sprintf("flat is not flat: %.2f dB at %s; this was taken off the other prints", math.Abs(s.WorstDB), words.FormatHz(s.WorstHz)))
		}
	}
	if noise > -40 {
		all = append(all, fmt.Sprintf("the silence of a print holds sound only %.0f dB under the probe: mute reverb and all else", -noise))
	}
	return all
}

type learntJSON struct {
	Version     int                    `json:"version"`
	RateHz      int                    `json:"rate_hz"`
	Prints      []learntPrintJSON      `json:"prints"`
	Shapes      []learntShapeJSON      `json:"shapes"`
	TopRates    *report.Number         `json:"top_times_rate"` // null: analogue
	Corrections []learntCorrectionJSON `json:"corrections"`
	Notes       []string               `json:"warnings"`
}

type learntPrintJSON struct {
	Print    int             `json:"print"`
	File     string          `json:"file"`
	Dialled  *filterJSON     `json:"dialled"`
	Is       *filterJSON     `json:"is"`
	OffDB    report.Number   `json:"off_db"`
	OffHz    report.Number   `json:"off_hz"`
	LagSec   report.Number   `json:"lag_s"`
	Inverted bool            `json:"inverted"`
	LevelDB  report.Number   `json:"level_db"`
	FreqHz   []report.Number `json:"freq_hz"`
	GainDB   []report.Number `json:"gain_db"`
}

type learntShapeJSON struct {
	Shape      string         `json:"shape"`
	FreqIs     string         `json:"freq_is"`
	WidthIs    string         `json:"width_is"`
	FixedWidth *report.Number `json:"fixed_width"`
	WidthInHz  bool           `json:"width_in_hz"`
	RestDB     report.Number  `json:"rest_db"`
}

type learntCorrectionJSON struct {
	Advised *filterJSON   `json:"advised"`
	Dial    *filterJSON   `json:"dial"`
	OffDB   report.Number `json:"off_db"`
	LeftDB  report.Number `json:"left_db"`
}

type filterJSON struct {
	Shape  string         `json:"shape"`
	FreqHz report.Number  `json:"freq_hz"`
	GainDB report.Number  `json:"gain_db"`
	Width  *report.Number `json:"width,omitempty"`
	Q      *report.Number `json:"q,omitempty"`
	Cut    int            `json:"cut_db_per_oct,omitempty"`
}

func filterOf(f biquad.Filter) *filterJSON {
	j := &filterJSON{Shape: f.Shape.String(), FreqHz: report.Number(f.FreqHz), GainDB: report.Number(f.GainDB), Cut: f.CutDBPerOct}
	if !f.Shape.IsCut() {
		j.Q = report.Known(f.Q)
	}
	return j
}

func numbers(x []float64) []report.Number {
	all := make([]report.Number, len(x))
	for i, v := range x {
		all[i] = report.Number(v)
	}
	return all
}

func writeLearntJSON(w io.Writer, e *probe.Equaliser) error {
	d := learntJSON{Version: 1, RateHz: e.RateHz, Shapes: []learntShapeJSON{}, Corrections: []learntCorrectionJSON{}, Notes: append([]string{}, learntMind(e)...)}
	if e.Oversampling != probe.Analogue {
		d.TopRates = report.Known(e.Oversampling)
	}
	for _, s := range e.Measured {
		p := learntPrintJSON{Print: s.Number, File: s.File, OffDB: report.Number(math.Abs(s.WorstDB)), OffHz: report.Number(s.WorstHz),
			LagSec: report.Number(s.Response.LagSec), Inverted: s.Response.Inverted, LevelDB: report.Number(s.LevelDB),
			FreqHz: numbers(s.Response.FreqHz), GainDB: numbers(s.DB)}
		if !s.Flat {
			p.Dialled = &filterJSON{Shape: s.Shape.String(), FreqHz: report.Number(s.FreqHz), GainDB: report.Number(s.GainDB)}
			if s.Width > 0 {
				p.Dialled.Width = report.Known(s.Width)
			}
			p.Is = filterOf(s.Filter)
		}
		d.Prints = append(d.Prints, p)
	}
	for _, shape := range learntShapes {
		m, learnt := e.Terms[shape]
		if !learnt {
			continue
		}
		freqIs, widthIs := match.DialWords(shape, m.Stated)
		s := learntShapeJSON{Shape: shape.String(), FreqIs: freqIs, WidthIs: widthIs, WidthInHz: m.WidthInHz, RestDB: report.Number(e.RestDB[shape])}
		if m.FixedWidth > 0 {
			s.FixedWidth = report.Known(m.FixedWidth)
		}
		d.Shapes = append(d.Shapes, s)
	}
	for _, c := range e.Corrections() {
		d.Corrections = append(d.Corrections, learntCorrectionJSON{filterOf(c.Advised), filterOf(c.Dial), report.Number(c.OffDB), report.Number(c.LeftDB)})
	}
	return report.WriteJSON(w, d)
}
