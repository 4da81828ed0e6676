package cli

import (
	"testing"

	"toneplumb/match"
)

// Every choice about a comparison is to be had wherever it makes sense.
func TestEveryOptionEverywhere(t *testing.T) {
	advice := []string{"eq", "moves", "stage", "as-measured"}
	for _, n := range match.Numbers {
		advice = append(advice, n.Flag)
	}
	judged := []string{"range", "smooth", "mix-part", "ref-part", "loudest"}
	for _, want := range []struct {
		flags    []string
		commands []string
	}{
		{advice, []string{"match", "class", "tracks"}},
		{[]string{"eq", "moves", "least"}, []string{"fit"}},
		{judged, []string{"match", "check", "class", "nearest", "tracks"}},
		{[]string{"already"}, []string{"match", "check", "class", "tracks"}},
		{[]string{"plain"}, []string{"match", "check", "class", "nearest", "tracks", "exercise"}},
		{[]string{"within"}, []string{"check", "class"}},
		{[]string{"json"}, []string{"match", "check", "class", "nearest", "tracks", "measure", "profile", "fit", "render", "eqread", "exercise", "demo"}},
	} {
		for _, name := range want.commands {
			cmd, _, err := newRoot().Find([]string{name})
			if err != nil || cmd.Name() != name {
				t.Fatalf("there is no command %s", name)
			}
			for _, flag := range want.flags {
				if cmd.Flags().Lookup(flag) == nil {
					t.Errorf("%s has no --%s", name, flag)
				}
			}
		}
	}
}
