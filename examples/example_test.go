package examples_test

import (
	"fmt"
	"strings"

	"toneplumb/examples"
)

// The texts begin with what they are about.
func Example() {
	for _, text := range []string{examples.Equalisers, examples.Lessons} {
		title, _, _ := strings.Cut(text, "\n")
		fmt.Println(title)
	}
	// Output:
	// # Your own equaliser
	// # For teachers
}
