package measure

import (
	"io"

	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// Text returns a reader of a text file as UTF-8. A byte order mark is removed, and text in
// UTF-16 after it, which some editors and spreadsheets save, is converted. Text without a
// mark passes unchanged. Every reader of text and JSON in toneplumb uses it.
func Text(in io.Reader) io.Reader {
	return transform.NewReader(in, unicode.BOMOverride(transform.Nop))
}
