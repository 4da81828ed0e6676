// Package pcm reads and writes plain samples: WAV (RIFF, RIFX, RF64, BW64), AIFF and AIFF-C, and the floats that another
// program writes into a pipe.
//
// Chunks are walked here, against the file's size, and samples are unpacked here. The WAV library gets a canonical header,
// since it misreads float, odd sizes and hostile chunks.
//
// It imports what all codecs share.
package pcm
