package cli

import (
	_ "embed"
	"io"

	"github.com/spf13/cobra"
)

// licences are the texts that come with what is built in. TestLicences writes and checks
// the file.
//
//go:embed licences.txt
var licences string

func newLicences() *cobra.Command {
	return &cobra.Command{
		Use:     "licences",
		Short:   "the licences of everything that is built in, in full",
		Example: "  toneplumb licences > LICENCES.txt",
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return fail("toneplumb licences > LICENCES.txt", "licences takes no files, %d given", len(args))
			}
			_, err := io.WriteString(cmd.OutOrStdout(), licences)
			return err
		},
	}
}
