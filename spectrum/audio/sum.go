package audio

import (
	"context"
	"crypto/sha256"
	"io"
	"math"
	"os"

	"toneplumb/spectrum/audio/codec"
)

// SHA256 returns the SHA-256 of a file's bytes; the file can be of any kind. The error is an [*Error] or the context's.
func SHA256(ctx context.Context, path string) ([]byte, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, openError(path, err)
	}
	defer file.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, io.NewSectionReader(stoppable{file, ctx}, 0, math.MaxInt64)); err != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, codec.WithPath(path, err)
	}
	return sum.Sum(nil), nil
}
