package document_test

import (
	"fmt"
	"log"
	"strings"

	"toneplumb/match/document"
)

// The moves of a settings document.
func Example() {
	s, err := document.ReadSettings(strings.NewReader(`{"version": 2, "rate_hz": 48000, "trim_db": 0.6,
		"moves": [{"shape": "bell", "freq_hz": 425, "gain_db": -2.5, "q": 0.8}]}`))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(s.Moves[0].Shape, s.Moves[0].FreqHz, s.Moves[0].GainDB, s.TrimDB)
	// Output: bell 425 -2.5 0.6
}
