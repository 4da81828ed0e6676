package match

import (
	"math"
	"slices"

	"toneplumb/spectrum"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// The tolerance is a prediction interval: by how much one more song of a kind may differ from
// the mean of the references, zone by zone. A song's own deviation in a zone is normal, with a
// variance that differs from maker to maker. The prior of that variance is a scaled inverse
// chi-square distribution, learned from songs by one maker and updated by the scatter of the
// references. The prediction for one more song is then Student's t.
// Source: A. Gelman et al., Bayesian Data Analysis, 3rd ed., sections 2.6 and 3.2 (from memory).

// songSpreadDB is the scale of a song's own deviation in each zone, in the order of [Zones].
// songSpreadFreedom is how alike makers are in it, as degrees of freedom. Both come from 22
// makers in nine packages of songs. Maximum likelihood of the makers' variances, which are
// then F-distributed, gives 5.0 degrees of freedom and 3.6, 2.6, 1.9, 2.2, 2.0, 3.4, 5.0 dB (14
// makers in seven other packages: 5.4 and 4.3, 3.8, 2.5, 2.2, 2.3, 4.2, 6.4). Our choice, with all
// packages in view: nine tenths of the former, which flags few enough finished songs and more
// faults. See TestVerdictOnSongs and testdata/README.md, "Decision 2: what is near enough".
var songSpreadDB = [...]float64{3.2, 2.3, 1.7, 2.0, 1.8, 3.1, 4.5}

const songSpreadFreedom = 5

// insideShare is the share of further songs that would be inside in all zones at once, by
// Bonferroni's bound. Zones vary together, and the whole interval of the measurement must be
// outside, so 8 to 16 % of finished songs are flagged. Our choice, as above.
const insideShare = 0.78

// OwnSongDB is the tolerance if all references are the mix's own song, whose differences are
// not arrangement. Our choice: about what is plainly heard in a zone.
const OwnSongDB = 2

// usualShare is the share of songs by one maker that keep to UsualDB in a single zone. Our
// choice: what one song in ten does is worth a listen, and no more than that.
const usualShare = 0.90

// tolerances returns by how much the mix may differ in each zone, in dB either way: in all zones
// at once, and what is usual in each alone. NaN for zones that are left out. A withinDB above 0
// replaces both, and so does OwnSongDB.
func (c *Comparison) tolerances(withinDB float64) (atOnce, usual []float64) {
	zones := c.zoneBands()
	judged := 0.0
	for _, bands := range zones {
		if bands != nil {
			judged++
		}
	}
	var levels [][]float64
	for _, p := range c.compared {
		levels = append(levels, c.smooth(c.levels(p.reference)))
	}
	n := float64(len(c.References))
	freedom := songSpreadFreedom + n - 1
	student := distuv.StudentsT{Sigma: 1, Nu: freedom}
	deviations, usually := student.Quantile(1-(1-insideShare)/2/max(1, judged)), student.Quantile(1-(1-usualShare)/2)
	atOnce, usual = make([]float64, len(zones)), make([]float64, len(zones))
	for i, bands := range zones {
		switch {
		case bands == nil:
			atOnce[i] = math.NaN()
		case withinDB > 0:
			atOnce[i] = withinDB
		case c.ownSong():
			atOnce[i] = OwnSongDB
		default:
			squares := songSpreadFreedom * songSpreadDB[i] * songSpreadDB[i]
			if n > 1 {
				var means []float64
				for _, db := range levels {
					means = append(means, spectrum.MeanAt(db, bands))
				}
				squares += (n - 1) * stat.Variance(means, nil)
			}
			spread := math.Sqrt(squares / freedom * (1 + 1/n))
			atOnce[i], usual[i] = deviations*spread, usually*spread
			continue
		}
		usual[i] = atOnce[i]
	}
	return atOnce, usual
}

// ownSong reports whether all references are copies of the mix's song.
func (c *Comparison) ownSong() bool { return !slices.Contains(c.SameSong, false) }
