package cli

import (
	_ "embed"
	"fmt"
	"io"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

// version is the name of the next tag, without its v. DEVELOPERS.md lists what each version
// changed, and a test checks that the two agree.
const version = "0.1.0"

// versionText returns the program's version, commit and Go version.
func versionText() string {
	return fmt.Sprintf("toneplumb %s\ncommit %s\nbuilt with %s for %s/%s\n", version, commit(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
}

// commit returns the revision that Go recorded in the program when it was built.
func commit() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "not recorded"
	}
	settings := map[string]string{}
	for _, s := range info.Settings {
		settings[s.Key] = s.Value
	}
	switch {
	case settings["vcs.revision"] == "":
		return "not recorded"
	case settings["vcs.modified"] == "true":
		return settings["vcs.revision"] + ", with changes on top"
	}
	return settings["vcs.revision"]
}

// licences are the licence texts of everything built in. TestLicences writes and checks the file.
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
