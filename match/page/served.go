package page

import (
	"bytes"
	"fmt"
	"html/template"
	"math"
	"strings"

	"gonum.org/v1/gonum/floats"

	"toneplumb/biquad"
	"toneplumb/match"
	"toneplumb/match/probe"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum"
	"toneplumb/spectrum/loudness"
	"toneplumb/spectrum/measure"
)

// deskScripts are the scripts of the served page in addition to the player's: a script comes after
// those it calls while it loads.
var deskScripts = []string{
	"fields.js", "app.js", "upload.js", "roles.js", "documents.js", "options.js", "counting.js",
	"chart.js", "reading.js", "moves.js", "preview.js", "result.js", "sets.js", "trials.js", "work.js", "papers.js", "tracks.js", "export.js", "outcome.js", "views.js", "start.js",
}

// Served returns the page of the local server, with the policy to send as its header: a template
// and scripts of its own (the folder desk) with the style and the player of a saved
// page.
func Served() (html []byte, policy string, err error) {
	d := pageFields{
		Style:  template.CSS(joined(".", "page.css") + joined("desk", "app.css", "chart.css", "views.css")),
		Script: template.JS(playScripts + joined("player", "filter.js") + joined("desk", deskScripts...)),
	}
	d.Policy = servedPolicy(string(d.Style), string(d.Script))
	var out bytes.Buffer
	err = pageTemplate.ExecuteTemplate(&out, "app", d)
	return out.Bytes(), d.Policy + "; frame-ancestors 'none'", err
}

// prints returns the settings for printing the probe: file, shape, frequency, gain and width.
func prints() [][]string {
	var rows [][]string
	for _, p := range probe.Plan() {
		row := []string{fmt.Sprintf("print-%d.wav", p.Number), "equaliser on, everything at 0 dB", "", "", ""}
		if !p.Flat {
			row[1], row[2] = words.Shape(p.Shape), words.FormatHz(p.FreqHz)
		}
		if p.Shape.IsCut() {
			row[4] = fmt.Sprintf("%g dB/oct", p.SlopeDB)
		} else if !p.Flat {
			row[3], row[4] = words.FormatGain(p.GainDB)+" dB", fmt.Sprint(p.Width)
		}
		rows = append(rows, row)
	}
	return rows
}

// servedPolicy also allows connections to the page's own server, and to no other.
func servedPolicy(style, script string) string {
	return strings.NewReplacer("img-src data:", "connect-src 'self'; img-src 'self' blob: data:", "media-src data: blob:", "media-src blob:").
		Replace(policy(style, script))
}

// extraRoomDB is room for peaks that the moves make, which are not measured. Our choice: at equal
// loudness, moves within ±6 dB raised the peaks of demo and songs by less.
const extraRoomDB = 3

// Predicted returns the player's input from the tables alone, within 0.1 LU of the measured one, so
// that a changed move can be heard at once. The sounds have the ids "mix" and "reference". It returns
// nil if there is nothing to compare.
func Predicted(r *match.Result, s Stretch) (*Player, error) {
	if s.Which < 0 && len(r.Moves) == 0 {
		return nil, nil
	}
	sec := min(ExcerptSec, r.Mix.DurationSec-s.MixFromSec)
	if s.Which >= 0 {
		sec = min(sec, r.References[s.Which].DurationSec-s.RefFromSec)
	}
	sec = math.Floor(sec*10) / 10
	p := &Player{RateHz: r.Mix.Format.RateHz, Seconds: report.Number(sec), Sources: []Source{}, Moves: []Switch{}}
	var filters []biquad.Filter
	for i, m := range NewData(r).Moves {
		filters = append(filters, r.Moves[i].Filter)
		p.Moves = append(p.Moves, Switch{Label: fmt.Sprintf("%d: %s", i+1, m.Label()), Sections: sectionsByRate(r.Moves[i].Filter, r.Mix.Format.RateHz)})
	}
	level := math.Inf(1)
	add := func(name, sound string, of *measure.Recording, fromSec float64, filters []biquad.Filter) error {
		x, err := heardOf(of, fromSec, sec)
		if err != nil {
			return err
		}
		source := Source{Name: name, Sound: sound, FromS: report.Number(fromSec), ThroughMoves: len(filters) > 0, CourseLU: x.course}
		for _, lufs := range x.through(filters, r.RateHz) {
			source.LoudnessLUFS = append(source.LoudnessLUFS, report.Number(lufs))
		}
		level = min(level, headroomDBTP-extraRoomDB-(x.peakDB-x.lufs), x.lufs-x.scaleDB)
		p.Sources = append(p.Sources, source)
		return nil
	}
	if err := add("mix", "mix", r.Mix, s.MixFromSec, nil); err != nil {
		return nil, err
	}
	if len(filters) > 0 {
		if err := add(throughName(len(filters)), "mix", r.Mix, s.MixFromSec, filters); err != nil {
			return nil, err
		}
	}
	if s.Which >= 0 {
		if err := add(match.ReferenceLabel(s.Which, len(r.References)), "reference", r.References[s.Which], s.RefFromSec, nil); err != nil {
			return nil, err
		}
	}
	p.LevelLUFS = report.Number(level)
	if len(filters) > 0 {
		p.BandWeights = bandWeights(r.Mix)
	}
	return p, nil
}

// bandWeights returns the K-weighted powers of the bands, the largest 1. A response changes the
// loudness by about the weighted mean of its power. The page uses them while a slider is dragged,
// until the server has computed the loudness.
func bandWeights(r *measure.Recording) []report.Number {
	k := loudness.Weighting(spectrum.Centres(), float64(r.Format.RateHz))
	power := r.MeanPower(r.GateWeights())
	floats.Mul(power, k)
	floats.Scale(1/floats.Max(power), power)
	return numbers(power)
}

// heard is a stretch of a recording's table, with levels as stored by listen.Cut.
type heard struct {
	part                  *measure.Recording
	scaleDB, peakDB, lufs float64
	course                []report.Number // per 100 ms relative to the loudness
}

func heardOf(r *measure.Recording, fromSec, sec float64) (*heard, error) {
	whole := *r
	whole.Counted = nil
	part, err := whole.Part(measure.Passages{{fromSec, fromSec + sec}})
	if err != nil {
		return nil, err
	}
	x := &heard{part: part, lufs: part.LoudnessLUFS}
	both := loudness.HeardDB(r.Format.Channels)
	first := int(math.Round(fromSec * loudness.StepsPerSecond))
	last := min(first+int(math.Round(sec*loudness.StepsPerSecond)), len(r.StepPeak))
	largest := floats.Norm(r.StepPeak[first:last], math.Inf(1))
	if largest == 0 {
		return nil, fmt.Errorf("%s is silent there", r.Name)
	}
	x.scaleDB = -spectrum.AmpToDB(largest) + both
	for _, p := range r.StepPower[first:last] {
		x.course = append(x.course, report.Number(math.Round(100*(loudness.LUFS(p)-x.lufs))/100))
	}
	x.lufs += x.scaleDB
	x.peakDB = both
	return x, nil
}

// through predicts the loudness of the stored sound through each combination of the moves: bit i of
// the index is move i.
func (x *heard) through(filters []biquad.Filter, rateHz float64) []float64 {
	each := make([][]float64, len(filters))
	for i, f := range filters {
		each[i] = biquad.ResponseDB(nil, []biquad.Filter{f}, spectrum.Centres(), rateHz)
	}
	gain := make([]float64, spectrum.BandCount)
	loud := make([]float64, 1<<len(filters))
	for choice := range loud {
		for b := range gain {
			db := 0.0
			for i := range filters {
				if choice>>i&1 == 1 {
					db += each[i][b]
				}
			}
			gain[b] = spectrum.DBToPower(db)
		}
		loud[choice] = x.part.LoudnessThrough(gain) + x.scaleDB
	}
	floats.AddConst(x.lufs-loud[0], loud) // corrects the table's rounding
	return loud
}
