package profile_test

import (
	"bytes"
	"fmt"
	"log"
	"strings"

	"toneplumb/spectrum"
	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/measure"
	"toneplumb/spectrum/measure/profile"
)

// A table is written without its sound and read back.
func Example() {
	r := &measure.Recording{Name: "song.wav", DurationSec: 8, RowSec: 8, Rows: 1, LoudnessLUFS: -14, Gate: []float64{1},
		Format: audio.Format{Container: "WAV", Encoding: "16-bit PCM", RateHz: 44100, Channels: 2, Bits: 16}}
	for range spectrum.BandCount {
		r.Power, r.Width = append(r.Power, 0.01), append(r.Width, 0)
	}
	var file bytes.Buffer
	kept := profile.Profile{{SHA256: strings.Repeat("ab", 32), Recording: r}}
	if err := kept.Write(&file, measure.BlockSec); err != nil {
		log.Fatal(err)
	}
	back, err := profile.Read(&file, "house.json")
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%s: %.2f dB in the first band\n", back[0].Recording.Name, spectrum.PowerToDB(float64(back[0].Recording.Power[0])))
	// Output: song.wav: -20.00 dB in the first band
}
