// Toneplumb measures how the tone of a mix differs from a reference recording
// and turns the difference into a few broad moves for one equaliser.
//
// It is one call into match/cli.
package main

import (
	"os"

	"toneplumb/match/cli"
)

func main() {
	ctx, stop := cli.UntilStopped()
	defer stop()
	os.Exit(cli.Run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
