// Package audio opens recordings and reads them in blocks, caches decoded sound, writes WAV, and writes files atomically.
//
// Most callers need only this:
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
// The kind of a file is decided by its content, never by its name. WAV (RIFF, RIFX, RF64, BW64), AIFF and AIFF-C, MP3 (MPEG-1,
// MPEG-2 and MPEG-2.5 layer III), FLAC, and Vorbis and Opus in Ogg are read here, without holding a whole file in
// memory. Other recordings (M4A, Windows Media, QuickTime, WavPack and so on) are read through ffmpeg or macOS's
// afconvert if one is installed. From damaged or cut-off files you get what decodes, with a warning that says how much
// is missing. Every sample returned is finite.
//
// Limits: FLAC is read up to 24 bits. Of several streams in an Ogg file only the first is read. Channels are returned in
// the order of the file; layout and down-mix are up to the caller.
//
// Each codec is a package below this one; package codec holds what they share.
//
// It imports the codecs and tool.
package audio
