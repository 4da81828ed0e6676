package cli

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"toneplumb/examples/demo"
	"toneplumb/match"
)

// demoFolder is where the demo goes if no folder is named.
const demoFolder = "toneplumb-demo"

func newDemo() *cobra.Command {
	output := outputOptions{size: defaultSize, paper: defaultPaper}
	cmd := &cobra.Command{
		Use:   "demo [FOLDER]",
		Short: "make two demo recordings and run the whole job on them",
		Long: `Synthesises a rough mix of an evening-class recording group and another group's
finished piece into FOLDER (` + demoFolder + ` if none is named), then matches the one
to the other and puts the chart and the settings beside them.`,
		Example: "  toneplumb demo\n  toneplumb demo /tmp/listen",
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return fail("toneplumb demo [FOLDER]", "one folder at most, %d given", len(args))
			}
			folder := demoFolder
			if len(args) == 1 {
				folder = args[0]
			}
			if err := os.MkdirAll(folder, 0o755); err != nil {
				return unwritable(folder, err)
			}
			fmt.Fprintf(cmd.ErrOrStderr(), "making two recordings in %s\n", folder)
			mix, reference, err := demo.Write(cmd.Context(), folder, nil)
			if err != nil {
				return err
			}
			output.files = []string{filepath.Join(folder, "chart.png"), filepath.Join(folder, "settings.json")}
			return runMatch(cmd.Context(), matchOptions{
				mix: mix, references: []string{reference}, output: output,
				compare: match.DefaultCompare(), solve: match.DefaultSolve(),
			}, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	cmd.Flags().BoolVar(&output.json, "json", false, "print one JSON document instead of text")
	return cmd
}
