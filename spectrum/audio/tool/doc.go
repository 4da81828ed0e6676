// Package tool reads recordings through another program: ffmpeg, or afconvert, which is part of macOS.
//
// It imports codec and pcm; pcm reads the samples that the programs write.
package tool
