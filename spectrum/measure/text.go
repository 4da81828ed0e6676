package measure

import (
	"io"

	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// Text returns a text file as UTF-8: after a byte order mark what is in UTF-16, as some
// editors and spreadsheets save it, is turned into UTF-8, and the mark is taken off.
// What has no mark passes as it is. Every reader of text and JSON here begins with it.
func Text(in io.Reader) io.Reader {
	return transform.NewReader(in, unicode.BOMOverride(transform.Nop))
}
