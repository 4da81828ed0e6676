//go:build unix

package mp3

import (
	"testing"

	"toneplumb/spectrum/internal/audiotest"
)

func TestMP3Speed(t *testing.T) {
	encode := map[string]func(wav, out string){}
	for name, args := range map[string][]string{"128": {"-b", "128"}, "V2": {"-V", "2"}, "320": {"-b", "320"}} {
		encode[name] = func(wav, out string) {
			audiotest.Run(t, "lame", append(append([]string{"--quiet"}, args...), wav, out)...)
		}
	}
	opener.Speed(t, 2.5, encode)
}
