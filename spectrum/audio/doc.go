// Package audio opens recordings and reads them in blocks, keeps decoded sound, writes WAV, and puts files in place whole.
//
// The one path most callers need:
//
//	src, err := audio.Open(ctx, path)
//	...
//	defer src.Close()
//	block := audio.NewBlock(src.Format().Channels, 16384)
//	for {
//		n, err := src.Read(block)
//		if err == io.EOF {
//			break
//		}
//		...use block[ch][:n]
//	}
//	for _, w := range src.Warnings() { ... }
//
// What a file is follows from its content, never from its name. WAV (RIFF, RF64, BW64), AIFF and AIFF-C, MP3 (MPEG-1,
// MPEG-2 and MPEG-2.5 layer III), FLAC, and Vorbis and Opus in Ogg are read here; nothing holds a whole file. What else is
// plainly a recording (M4A, Windows Media, QuickTime, WavPack and so on) goes through ffmpeg or macOS's afconvert where
// one is installed. Damaged and cut-off files give what decodes, with a warning that says how much is missing; every
// sample that comes out is finite.
//
// Limits: FLAC goes up to 24 bits. Of several streams in an Ogg file the first is read. Channels are passed through as
// they are; layout and down-mix are the caller's.
//
// Each codec has a package of its own below this one, over what all of them share (codec).
//
// It imports the codecs and tool.
package audio
