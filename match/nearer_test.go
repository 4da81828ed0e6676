package match

import (
	"testing"

	"toneplumb/spectrum/measure"
)

// Of 93 pairs of a song's first minute and other songs the targets of these two overshoot
// so far that moves would have left the distance larger (4.61, then 5.99 dB; 3.70, 3.92).
func TestMovesComeNearer(t *testing.T) {
	songs := songTables(t)
	for _, i := range []int{12, 23} {
		song := songs[i]
		minute := rowsOf(song, func(row int) bool { return row*song.RowSec < 60 })
		c, err := Compare(minute, []*measure.Recording{songs[i+1]}, DefaultCompare())
		if err != nil {
			t.Fatal(err)
		}
		if r := c.Solve(DefaultSolve()); r.DistanceAfterDB > r.DistanceBeforeDB {
			t.Errorf("song %d: %d moves, distance %.2f, then %.2f dB", i, len(r.Moves), r.DistanceBeforeDB, r.DistanceAfterDB)
		}
	}
}
