package report_test

import (
	"fmt"
	"os"

	"toneplumb/match/report"
)

// The parts that every text is made of. [report.Text] writes a whole result.
func Example() {
	var t report.TextReport
	t.Paragraph("trim  ", "−0.5 dB: "+report.TrimReason(0.3))
	t.Warnings([]string{"Move 1 lies above 8 kHz: check it by ear."})
	t.WriteOut(os.Stdout)
	fmt.Println(report.Shorten("a very long name of a recording.wav", 20))
	// Output:
	// trim  −0.5 dB: 0.3 dB below equal loudness, to keep peaks under −1 dBTP
	//
	// watch out:
	// - Move 1 lies above 8 kHz: check it by ear.
	// a very lo…ording.wav
}
