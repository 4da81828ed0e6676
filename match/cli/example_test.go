package cli_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"strings"

	"toneplumb/match/cli"
)

// Results go to the first writer, all else to the second, and the exit code is returned: 0 done, 1 a check that found
// something, 2 an error, which is two lines.
func Example() {
	var results bytes.Buffer
	fmt.Println(cli.Run(context.Background(), []string{"--version"}, nil, &results, os.Stdout))
	fmt.Println(strings.Fields(results.String())[0])
	fmt.Println(cli.Run(context.Background(), []string{"mtach", "mix.wav", "reference.wav"}, nil, os.Stdout, os.Stdout))
	// Output:
	// 0
	// toneplumb
	// toneplumb: unknown command "mtach"; did you mean "match"? [unknown-command]
	//   hint: see toneplumb help match
	// 2
}
