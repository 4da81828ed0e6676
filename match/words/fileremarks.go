package words

import (
	"fmt"

	"toneplumb/spectrum/audio"
	"toneplumb/spectrum/audio/codec"
)

// Remark returns what the reader of a file says about it, without capital or full stop.
func Remark(r audio.Remark) string {
	at, of, lost := audio.Clock(r.AtSec), audio.Clock(r.OfSec), duration(r.LostSec)
	switch r.Kind {
	case codec.StopsEarly:
		return fmt.Sprintf("the file stops at %s of %s: %s at the end is missing", at, of, lost)
	case codec.CutOff:
		return fmt.Sprintf("the file is cut off or damaged after %s: the rest of the recording is missing", at)
	case codec.NoEndMark:
		return "the file has no end mark: it may be cut off after " + at
	case codec.NoStart:
		return "the file is damaged: some sound is missing at its start"
	case codec.SoundMissing:
		return soundMissing(r)
	case codec.Silenced:
		return fmt.Sprintf("the file is damaged, first at %s: %s of sound is replaced by silence", at, lost)
	case codec.BadSamples:
		return fmt.Sprintf("%d samples are not numbers or absurdly large: they are taken as silence", r.Count)
	case codec.OnlyFirst:
		return fmt.Sprintf("the file holds several recordings one after the other: only the first, %s long, is read", duration(r.AtSec))
	case codec.SideBySide:
		return fmt.Sprintf("the file holds %d recordings side by side: the first is read", r.Count)
	case codec.FormatChanges:
		return fmt.Sprintf("the file goes on at another sample rate or channel count after %s: that part is left out", at)
	}
	return ofDecoders(r)
}

// ofDecoders returns a remark that is about how a file is read.
func ofDecoders(r audio.Remark) string {
	const speech = "its sound is coded as speech at a low bit rate, read here with an error of about 0.5 %. "
	switch r.Kind {
	case codec.DecodersDiffer:
		return fmt.Sprintf("the two MP3 decoders built in differ on this file (by %d steps of 16 bits). The older one is used, which cuts peaks off at full scale", r.Count)
	case codec.Speech:
		return speech + "Install ffmpeg with libopus, or convert it to WAV first"
	case codec.SpeechDamaged:
		return speech + "Export it again to WAV or FLAC"
	case codec.FFmpegStopped:
		return fmt.Sprintf("ffmpeg stopped reading the file after %s: %s", audio.Clock(r.AtSec), r.Text)
	case codec.FFmpegComplains:
		return "the file is damaged: ffmpeg says " + r.Text
	case codec.FrontPair:
		return fmt.Sprintf("only the first two of its %d channels, the front pair, are judged. The loudness is theirs, the true peak that of all channels", r.Count)
	case codec.DecodedByBrowser:
		return fmt.Sprintf("decoded by the browser, at %g kHz whatever its own rate is", float64(r.Count)/1000)
	}
	return r.Text
}

func soundMissing(r audio.Remark) string {
	places := Count(int(r.Count), "place")
	if r.Count == 1 {
		places = "one place"
	}
	switch {
	case r.Count == 0:
		return fmt.Sprintf("the file is damaged: %s of sound is missing", duration(r.LostSec))
	case r.OfSec == 0:
		return fmt.Sprintf("the file is damaged in %s: some sound is missing there", places)
	}
	return fmt.Sprintf("the file is damaged in %s: %s of %s is missing", places, duration(r.LostSec), audio.Clock(r.OfSec))
}

// duration returns a length in seconds with one decimal below ten seconds, else as m:ss.
func duration(sec float64) string {
	switch {
	case sec < 0.1:
		return "less than 0.1 s"
	case sec < 9.95:
		return fmt.Sprintf("%.1f s", sec)
	}
	return audio.Clock(sec + 0.5)
}
