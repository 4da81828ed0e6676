package fit

import (
	"bufio"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"toneplumb/spectrum/testkit"
)

const (
	mostMoves = 5
	bestFile  = "testdata/best_known.txt"
	// wideStarts is the number of random starts, per curve and number of moves, of the
	// search that best_known.txt comes from.
	wideStarts = 1000
)

// readBest returns the best residual known, by curve and number of moves. The file's
// first lines say how it was made.
func readBest(t *testing.T) map[string][mostMoves + 1]float64 {
	t.Helper()
	file, err := os.Open(bestFile)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	best := map[string][mostMoves + 1]float64{}
	for lines := bufio.NewScanner(file); lines.Scan(); {
		name, values, _ := strings.Cut(lines.Text(), ":")
		if strings.HasPrefix(name, "#") {
			continue
		}
		var b [mostMoves + 1]float64
		if _, err := fmt.Sscan(values, &b[0], &b[1], &b[2], &b[3], &b[4], &b[5]); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		best[name] = b
	}
	return best
}

// Differences of real songs, settings anywhere: Search against the best known.
func TestSongCurves(t *testing.T) {
	testkit.Skip(t, "forty searches")
	if !long() {
		t.Parallel()
	}
	const relative, absoluteDB = 1.02, 0.02 // our choice: nobody hears the rest of the difference grow by this little
	share := [mostMoves + 1]float64{1, 1, 1, 1, 0.95, 0.8}
	curves, best := songCurves(t), readBest(t)
	var reached [mostMoves + 1]int
	var worst [mostMoves + 1]float64
	start := time.Now()
	for _, c := range curves {
		known, ok := best[c.name]
		if !ok {
			t.Fatalf("%s: no best known residual", c.name)
		}
		for count, s := range Search(c.Problem, mostMoves) {
			if s.ResidualDB <= max(relative*known[count], known[count]+absoluteDB) {
				reached[count]++
			}
			worst[count] = max(worst[count], s.ResidualDB/known[count])
		}
	}
	mean := time.Since(start) / time.Duration(len(curves))
	for count, n := range reached {
		t.Logf("%d moves: %d of %d curves near the best known, the worst %.4f of it", count, n, len(curves), worst[count])
		if !(float64(n) >= share[count]*float64(len(curves))) {
			t.Errorf("%d moves: %d of %d curves near the best known, want %g %%", count, n, len(curves), 100*share[count])
		}
	}
	// Our choice: four searches a second, 250 ms each, keep up with a person who turns a
	// dial. The time on a machine with other work means little, so it is logged, not tested.
	t.Logf("%v per curve, aim 250ms", mean)
}

// The widest search that is practical finds nothing better than the residuals kept as
// best known.
func TestBestKnown(t *testing.T) {
	testkit.Long(t, "takes ten minutes")
	const tol = 1e-3 // relative: descents end a little apart
	var text strings.Builder
	fmt.Fprintf(&text, "# Lowest residuals known in dB with 0, 1, … moves for the curves of curves.txt.\n")
	fmt.Fprintf(&text, "# How: bestKnown of wide_test.go with %d random starts for each number of moves,\n", wideStarts)
	fmt.Fprintf(&text, "# by TONEPLUMB_LONG=1 go test -run TestBestKnown -update -timeout 2h\n")
	for _, c := range songCurves(t) {
		found := bestKnown(c.Problem, mostMoves, wideStarts)
		fmt.Fprintf(&text, "%s:", c.name)
		for _, r := range found {
			fmt.Fprintf(&text, " %.5f", r)
		}
		fmt.Fprintln(&text)
		if *testkit.Update {
			continue
		}
		for count, known := range readBest(t)[c.name] {
			if found[count] < known*(1-tol) {
				t.Errorf("%s, %d moves: %.5f dB is better than the %.5f kept: run with -update", c.name, count, found[count], known)
			}
		}
	}
	if *testkit.Update {
		if err := os.WriteFile(bestFile, []byte(text.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
