// Package codec holds what all decoders of sound files share: the description of a recording, the interface of a decoder,
// the texts of errors and warnings, the format of times, and the rounding to integer samples.
//
// It imports nothing of toneplumb.
package codec

import "fmt"

// Format describes a recording. In JSON it is as in a profile.
type Format struct {
	Container string `json:"container"` // "WAV", "AIFF", "MP3", "FLAC", "Ogg"; through a converter also "MP4" and others
	Encoding  string `json:"encoding"`  // "16-bit PCM", "32-bit float", "MPEG-1 layer III", "Vorbis", "AAC"
	Lossy     bool   `json:"lossy"`
	RateHz    int    `json:"rate_hz"`  // 1 to [MaxRateHz]
	Channels  int    `json:"channels"` // 1 to [MaxChannels]
	Bits      int    `json:"bits"`     // bits of an integer sample, which limit the noise floor, 4 to 32; 0 for float and lossy encodings
	Frames    int64  `json:"-"`        // as the file announces, without an encoder's delay and padding; -1 if unknown
}

// The limits beyond which a header is considered damaged. Our choice: 768 kHz is the highest rate of any converter.
const (
	MaxRateHz   = 768000
	MaxChannels = 64
)

// MaxSample is the largest magnitude accepted as a sample, full scale being 1. Our choice: +120 dB over full scale is
// damage, not sound, and squares of samples must stay finite in every later computation.
const MaxSample = 1e6

// DurationSec returns the announced duration in seconds, or -1 if it is unknown.
func (f Format) DurationSec() float64 {
	if f.Frames < 0 {
		return -1
	}
	return float64(f.Frames) / float64(f.RateHz)
}

// CheckFormat returns an error if the sample rate or the channel count is outside 1 to [MaxRateHz] or [MaxChannels].
func CheckFormat(rateHz int64, channels int) error {
	if rateHz < 1 || rateHz > MaxRateHz {
		return Damaged(fmt.Sprintf("says it has a sample rate of %d Hz: its header is damaged", rateHz))
	}
	if channels < 1 || channels > MaxChannels {
		return Damaged(fmt.Sprintf("says it has %d channels: its header is damaged", channels))
	}
	return nil
}

// Decoder is one open file of some kind.
type Decoder interface {
	// Format describes the recording.
	Format() Format

	// Read fills up to len(dst[0]) frames of every channel, full scale ±1, and returns how many. It may return fewer
	// than asked for, and 0 only with an error. It is not called again after an error; io.EOF ends the sound.
	Read(dst [][]float64) (frames int, err error)

	// Warnings returns what the user should know about the file. It is complete once Read has returned io.EOF.
	Warnings() []Remark
}

// NewBlock allocates a block of channels × frames samples for [Decoder.Read].
func NewBlock(channels, frames int) [][]float64 {
	all := make([]float64, channels*frames)
	block := make([][]float64, channels)
	for ch := range block {
		block[ch] = all[ch*frames : (ch+1)*frames : (ch+1)*frames]
	}
	return block
}

// First returns the first frames of every channel of a block, whose memory it shares.
func First(block [][]float64, frames int) [][]float64 {
	first := make([][]float64, len(block))
	for ch, x := range block {
		first[ch] = x[:frames]
	}
	return first
}
