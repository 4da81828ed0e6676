//go:build unix

package flac

import (
	"testing"

	"toneplumb/spectrum/internal/audiotest"
)

func TestFLACSpeed(t *testing.T) {
	encode := map[string]func(wav, out string){}
	for _, level := range []string{"-0", "-5", "-8"} {
		encode[level] = func(wav, out string) { audiotest.Run(t, "flac", "--silent", "-f", level, "-o", out, wav) }
	}
	opener.Speed(t, 1.3, encode)
}
