package cli

import (
	_ "embed"
	"fmt"
	"io"
	"runtime"
	"runtime/debug"

	"toneplumb/spectrum/finding"

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
	revision, changed := "not recorded: go build does so in a git checkout, unless -buildvcs=false is set", ""
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision":
				revision = s.Value
			case s.Key == "vcs.modified" && s.Value == "true":
				changed = ", with changes on top"
			}
		}
	}
	return revision + changed
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
				return fail(finding.FilesNeeded, "toneplumb licences > LICENCES.txt", "licences takes no files, %d given", len(args))
			}
			_, err := io.WriteString(cmd.OutOrStdout(), licences)
			return err
		},
	}
}

// shells are those for which cobra can write a completion.
var shells = []string{"bash", "zsh", "fish", "powershell"}

func newCompletion() *cobra.Command {
	return &cobra.Command{
		Use:   "completion SHELL",
		Short: "let the Tab key complete commands and options",
		Long: `Prints a script for your shell: bash, zsh, fish or powershell. Once the shell has
read it, Tab completes the names of commands, options and files.

  bash         toneplumb completion bash > ~/.local/share/bash-completion/completions/toneplumb
  zsh          toneplumb completion zsh > FOLDER/_toneplumb, where FOLDER is in $fpath
  fish         toneplumb completion fish > ~/.config/fish/completions/toneplumb.fish
  powershell   toneplumb completion powershell >> $PROFILE

Make the folder first if it is not there; then open a new terminal. bash needs its
package bash-completion, and zsh needs "autoload -U compinit; compinit" in .zshrc.`,
		Example:   "  source <(toneplumb completion bash)     # for this terminal alone",
		ValidArgs: shells,
		RunE: func(cmd *cobra.Command, args []string) error {
			const how = "use one of bash, zsh, fish and powershell"
			if len(args) != 1 {
				return fail(finding.FilesNeeded, how, "one shell is needed, %d given", len(args))
			}
			root, out := cmd.Root(), cmd.OutOrStdout()
			switch args[0] {
			case "bash":
				return root.GenBashCompletionV2(out, true)
			case "zsh":
				return root.GenZshCompletion(out)
			case "fish":
				return root.GenFishCompletion(out, true)
			case "powershell":
				return root.GenPowerShellCompletionWithDesc(out)
			}
			return fail(finding.WrongOption, how, "there is no completion for %q", args[0])
		},
	}
}
