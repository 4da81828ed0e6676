package tracks

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"toneplumb/match"
	"toneplumb/spectrum"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/multitrack"
)

// nameAll names the tracks by their files, or, plain, by their numbers.
func (s *session) nameAll(plain bool) {
	names, files := match.Naming{Plain: plain}, match.Naming{Plain: plain}
	for i, t := range s.tracks {
		number := fmt.Sprintf("track %d", i+1)
		t.name = names.Name(measure.Printable(NameOf(t.Path)), number)
		t.file = files.Name(measure.NameOf(t.Path), number)
	}
}

// NameOf is a track's name: its file's, without folder and extension.
func NameOf(path string) string {
	base := filepath.Base(path)
	if name := strings.TrimSuffix(base, filepath.Ext(base)); name != "" {
		return name
	}
	return base
}

// findDuplicates marks tracks that are the same sound as one before, at any level.
func (s *session) findDuplicates() {
	for i, t := range s.tracks {
		if t.state == Silent {
			continue
		}
		for j, earlier := range s.tracks[:i] {
			if (earlier.state == Heard || earlier.state == Absent) && sameSound(t.Track, earlier.Track) {
				t.state, t.duplicateOf = Duplicate, j
				break
			}
		}
	}
}

// sameSound tells whether two tables are of one sound but for its level: every cell
// that is not near silence has one ratio.
func sameSound(a, b *multitrack.Track) bool {
	const toleranceDB, floorDB = 0.05, 50 // our choice: rounding to 16 bits stays below
	strongest, at := float32(0), 0
	for i, p := range a.RowPower {
		if p > strongest {
			strongest, at = p, i
		}
	}
	if b.RowPower[at] == 0 {
		return false
	}
	ratio := spectrum.PowerToDB(float64(strongest) / float64(b.RowPower[at]))
	for i, p := range a.RowPower {
		if float64(p) < float64(strongest)*spectrum.DBToPower(-floorDB) {
			continue
		}
		if d := spectrum.PowerToDB(float64(p)/float64(b.RowPower[i])) - ratio; !(math.Abs(d) < toleranceDB) {
			return false
		}
	}
	return true
}
