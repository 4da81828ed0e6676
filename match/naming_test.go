package match

import (
	"slices"
	"testing"

	"toneplumb/spectrum/measure"
)

// No two files of a comparison have one name, not even where one is called as another's
// number would have it; and tables keep the names they have elsewhere.
func TestNaming(t *testing.T) {
	var files []*measure.Recording
	for _, name := range []string{"take.wav", "take.wav (2)", "take.wav", "reel.flac", "take.wav"} {
		files = append(files, &measure.Recording{Name: name})
	}
	for _, c := range []struct {
		plain bool
		want  []string
	}{
		{false, []string{"take.wav", "take.wav (2)", "take.wav (3)", "reel.flac", "take.wav (4)"}},
		{true, []string{"mix", "reference 1", "reference 2", "reference 3", "the earlier mix"}},
	} {
		n := &Naming{Plain: c.plain}
		got := []string{n.Mix(files[0]).Name}
		for _, r := range n.References(files[1:4]) {
			got = append(got, r.Name)
		}
		if got = append(got, n.Before(files[4]).Name); !slices.Equal(got, c.want) {
			t.Errorf("plain %v: %q, want %q", c.plain, got, c.want)
		}
	}
	if files[4].Name != "take.wav" {
		t.Errorf("the table itself is called %q", files[4].Name)
	}
}
