package class

import (
	"slices"
	"strings"
	"testing"
)

// An earlier bounce is found by its name, whatever its folder and, where none has the very name,
// its extension.
func TestEarlierOf(t *testing.T) {
	of, missing := earlierOf(
		[]string{"w2/anna.wav", "w2/ben.wav", "w2/chris.wav", "w2/anna b.wav"},
		[]string{"w1/ben.mp3", "w1/anna.flac", "w1/anna.wav", "w1/Chris.wav"})
	if want := []string{"w1/anna.wav", "w1/ben.mp3", "", ""}; !slices.Equal(of, want) {
		t.Errorf("found %q, want %q", of, want)
	}
	if want := []string{"w1/anna.flac", "w1/Chris.wav"}; !slices.Equal(missing, want) {
		t.Errorf("not taken %q, want %q", missing, want)
	}
}

// A page says where its mix stands among those that could be read, and what has moved.
func TestStanding(t *testing.T) {
	table := tableOf(t, false)
	for name, want := range map[string]string{
		"mix 10.wav": "Number 4 of 4 by distance, the nearest first. Nearer since the earlier mix: 8.5 dB then, 6.5 dB now. Most has happened in the air: 18.",
		"mix 2.wav":  "Number 1 of 4 by distance, the nearest first. As before since the earlier mix: 0.1 dB then, 0.1 dB now.",
		"=1+1.wav":   "Number 2 of 4 by distance, the nearest first. Before: not read, @is a letter, not a recording.",
	} {
		i := slices.IndexFunc(table.Rows, func(r Row) bool { return r.Name == name })
		if got := strings.Join(table.Standing(table.Rows[i]), " "); !strings.HasPrefix(got, want) {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
}
