package finding_test

import (
	"fmt"

	"toneplumb/spectrum/finding"
)

// A list has the heaviest first.
func Example() {
	all := finding.List{late{}}.With(loud{})
	for _, f := range all {
		fmt.Println(f.Severity(), f.Code())
	}
	// Output:
	// warning too-loud
	// info late
}

type late struct{}

func (late) Code() string               { return "late" }
func (late) Severity() finding.Severity { return finding.Info }

type loud struct{}

func (loud) Code() string               { return "too-loud" }
func (loud) Severity() finding.Severity { return finding.Warning }
