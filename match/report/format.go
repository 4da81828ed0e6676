package report

import (
	"fmt"

	"toneplumb/spectrum/audio"
)

// FormatWords returns a recording's rate, channels and sample format: "44.1 kHz stereo, …".
func FormatWords(f audio.Format) string {
	channels := map[int]string{1: "mono", 2: "stereo"}[f.Channels]
	if channels == "" {
		channels = fmt.Sprintf("%d channels", f.Channels)
	}
	return fmt.Sprintf("%g kHz %s, %s", float64(f.RateHz)/1000, channels, f.Encoding)
}
