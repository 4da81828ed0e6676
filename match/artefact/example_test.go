package artefact_test

import (
	"fmt"

	"toneplumb/match/artefact"
)

// A file's name says in which form an outcome is written.
func Example() {
	form, known := artefact.Match.For("the song settings.json")
	fmt.Println(form.Extension, form.MIME(), form.Sound, known)
	fmt.Println(artefact.Check.Extensions())
	// Output:
	// settings.json application/json false true
	// [.png .svg .pdf .json .txt]
}
