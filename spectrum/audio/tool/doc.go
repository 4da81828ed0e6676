// Package tool reads recordings through another program: ffmpeg, or afconvert, which is part of macOS.
//
// It imports pcm, which reads the samples that the programs write.
package tool
