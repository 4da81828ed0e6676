package report

import (
	"io"
	"math"

	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
)

// checkDocument is what [CheckJSON] writes. Differences are the mix's level less the
// references', ignoring level, in dB: positive where the mix has too much. Names never change. A
// value that does not apply or is unknown is null.
type checkDocument struct {
	Version      int             `json:"version"`
	SmoothingOct Number          `json:"smoothing_oct"`
	RangeHz      [2]Number       `json:"range_hz"`
	WithinDB     *Number         `json:"within_db"` // the tolerance that was asked for
	Verdict      string          `json:"verdict"`   // "near enough", "unusual", "off" or "too close to call"
	DistanceDB   Number          `json:"distance_db"`
	Mix          factsDocument   `json:"mix"`
	Odd          *oddDocument    `json:"odd_reference"` // makes most of the references' spread
	References   []factsDocument `json:"references"`
	Zones        []ZoneDocument  `json:"zones"`
	Sides        []sideDocument  `json:"sides"` // zones in which side and mid differ by more than 2 dB
	Before       *sinceDocument  `json:"before"`
	Curve        []bandDocument  `json:"curve"`
	Warnings     []Warning       `json:"warnings"`
}

type oddDocument struct {
	Number     int    `json:"number"` // from 1
	DistanceDB Number `json:"distance_db"`
	OthersDB   Number `json:"others_db"`
}

type factsDocument struct {
	recordingDocument
	PeakToLoudness *Number     `json:"peak_to_loudness_db"`
	LowsLost       *Number     `json:"lows_lost_in_mono_db"`
	Widths         []widthJSON `json:"widths"`
}

// ZoneDocument is the verdict of a zone as it is written in JSON.
type ZoneDocument struct {
	Zone         string    `json:"zone"`
	RangeHz      [2]Number `json:"range_hz"` // the whole zone's, also where a part is left out
	DifferenceDB *Number   `json:"mix_minus_reference_db"`
	LowDB        *Number   `json:"low_db"`       // ends of the likely range; those of all zones
	HighDB       *Number   `json:"high_db"`      // hold at once (95 %)
	ToleranceDB  *Number   `json:"tolerance_db"` // null if the zone is left out
	UsualDB      *Number   `json:"usual_db"`     // beyond it a zone is "unusual"; null likewise
	Verdict      string    `json:"verdict"`
	Why          *string   `json:"why"` // for "too close to call": "left out" or "too uncertain"
}

type sideDocument struct {
	Zone      string `json:"zone"`
	MiddleDB  Number `json:"mid_minus_reference_db"` // positive: the mix has more
	SidesDB   Number `json:"side_minus_reference_db"`
	HalfWidth Number `json:"half_db"` // half the joint likely range of side less mid
	Bounded   bool   `json:"or_more"` // they are farther apart than that
}

type sinceDocument struct {
	Mix            factsDocument   `json:"mix"`
	SameSong       bool            `json:"same_song"`
	JudgedHz       *[2]Number      `json:"judged_hz"`        // what is judged in both mixes; null if nothing is
	DistanceThenDB Number          `json:"distance_then_db"` // over that, as the zones
	DistanceNowDB  Number          `json:"distance_now_db"`
	Nearness       string          `json:"nearness"` // "nearer", "as before" or "further off"
	Zones          []movedDocument `json:"zones"`
}

type movedDocument struct {
	Zone     string  `json:"zone"`
	ThenDB   *Number `json:"mix_minus_reference_then_db"`
	NowDB    *Number `json:"mix_minus_reference_now_db"`
	MovedDB  *Number `json:"moved_db"` // positive if the mix has come up
	Nearness *string `json:"nearness"`
}

type bandDocument struct {
	FreqHz       Number     `json:"freq_hz"`
	DifferenceDB *Number    `json:"mix_minus_reference_db"`
	LowDB        *Number    `json:"low_db"`
	HighDB       *Number    `json:"high_db"`
	LeftOut      *Exclusion `json:"left_out"`
}

// CheckJSON writes a check as one JSON document, version [FindingsVersion]. Differences are mix
// less reference: positive where the mix has too much. The error is w's.
func CheckJSON(w io.Writer, k *match.Check) error {
	d := checkDocument{
		Version: FindingsVersion, SmoothingOct: Number(k.Options.SmoothOct),
		RangeHz: [2]Number{Number(k.Options.RangeHz[0]), Number(k.Options.RangeHz[1])},
		Verdict: k.Verdict.String(), DistanceDB: Number(k.DistanceDB),
		WithinDB: KnownIf(k.WithinDB > 0, k.WithinDB),
		Mix:      factsOf(k.Mix, k.Used(0)), Zones: ZonesJSON(k.Zones), Sides: sidesJSON(k.Sides), Warnings: WarningsJSON(k.Warnings),
	}
	if k.Odd != nil {
		d.Odd = &oddDocument{k.Odd.Index + 1, Number(k.Odd.DistanceDB), Number(k.Odd.OthersDB)}
	}
	for i, ref := range k.References {
		d.References = append(d.References, factsOf(ref, k.Used(i+1)))
	}
	if p := k.Since; p != nil {
		d.Before = &sinceDocument{Mix: factsOf(p.Before.Mix, p.Before.Used(0)), SameSong: p.SameSong,
			DistanceThenDB: Number(p.DistanceThenDB), DistanceNowDB: Number(p.DistanceNowDB), Nearness: p.Nearness().String()}
		if p.LowHz > 0 {
			d.Before.JudgedHz = &[2]Number{Number(p.LowHz), Number(p.HighHz)}
		}
		for _, z := range p.Zones {
			m := movedDocument{Zone: z.Name, ThenDB: Known(-z.ThenDB), NowDB: Known(-z.NowDB), MovedDB: Known(z.MovedDB())}
			if !math.IsNaN(z.MovedDB()) {
				m.Nearness = new(z.Nearness().String())
			}
			d.Before.Zones = append(d.Before.Zones, m)
		}
	}
	for b, difference := range k.DifferenceDB {
		d.Curve = append(d.Curve, bandDocument{Number(spectrum.CentreHz(b)), Known(-difference), Known(-k.HighDB[b]), Known(-k.LowDB[b]), exclusionOf(k.LeftOut[b])})
	}
	return WriteJSON(w, d)
}

// sidesJSON returns side and mid as they are written in JSON; never nil.
func sidesJSON(sides []match.SideVerdict) []sideDocument {
	all := []sideDocument{}
	for _, s := range sides {
		all = append(all, sideDocument{s.Name, Number(-s.MiddleDB), Number(-s.SidesDB), Number(s.HalfDB), s.Bounded})
	}
	return all
}

// ZonesJSON returns the verdicts of zones as they are written in JSON.
func ZonesJSON(zones []match.ZoneVerdict) []ZoneDocument {
	var all []ZoneDocument
	for _, z := range zones {
		d := ZoneDocument{Zone: z.Name, RangeHz: [2]Number{Number(z.LowHz), Number(z.HighHz)}, DifferenceDB: Known(-z.DifferenceDB),
			LowDB: Known(-z.HighDB), HighDB: Known(-z.LowDB), ToleranceDB: Known(z.ToleranceDB), UsualDB: Known(z.UsualDB), Verdict: z.Verdict.String()}
		if z.Why != match.NoDoubt {
			d.Why = new(z.Why.String())
		}
		all = append(all, d)
	}
	return all
}

func factsOf(r *measure.Recording, used measure.Passages) factsDocument {
	return factsDocument{recordingOf(r, used), KnownIf(r.Valid(), r.PeakToLoudnessDB()), lowsLost(r), widthsJSON(r)}
}
