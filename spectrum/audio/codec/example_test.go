package codec_test

import (
	"fmt"

	"toneplumb/spectrum/audio/codec"
	"toneplumb/spectrum/finding"
)

// An error and a warning about a file in words for its owner.
func Example() {
	err := codec.WithPath("song.wav", codec.NewError(finding.NoSound, "is a WAV file with no sound in it", codec.HintExport))
	fmt.Println(err)
	fmt.Println(codec.StopsAt(48000*60, 48000*90, 48000))
	// Output:
	// "song.wav" is a WAV file with no sound in it
	// {stops-early 60 30 90 0 }
}
