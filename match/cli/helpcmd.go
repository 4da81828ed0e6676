package cli

import (
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"toneplumb/examples"
	"toneplumb/match/artefact"
	"toneplumb/match/report"
	"toneplumb/match/words"
	"toneplumb/spectrum/finding"
)

// topics are the texts that help prints, for those who have only the program.
var topics = map[string]string{"equalisers": examples.Equalisers, "files": artefact.Forms, "lessons": examples.Lessons, "messages": words.Messages}

func newHelp() *cobra.Command {
	return &cobra.Command{
		Use:               "help [COMMAND or TOPIC or CODE]",
		Short:             "what a command does, with its options; a topic; a code behind an error",
		Example:           "  toneplumb help match\n  toneplumb help equalisers\n  toneplumb help not-found",
		ValidArgsFunction: completeHelp,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				args[0] = strings.ToLower(args[0])
				if text := topics[args[0]] + aboutCode(args[0]); text != "" {
					_, err := io.WriteString(cmd.OutOrStdout(), text)
					return err
				}
			}
			of, rest, err := cmd.Root().Find(args)
			switch {
			case len(args) > 1 && (of != cmd.Root() || topics[args[0]]+aboutCode(args[0]) != ""):
				return fail(finding.UnknownCommand, "toneplumb help "+args[0], "help is about one thing, and %q is more", args[1])
			case err != nil || len(rest) > 0:
				return fail(finding.UnknownCommand, "toneplumb --help lists commands and topics", "there is no command, topic or code %q", args[0])
			}
			of.InitDefaultHelpFlag() // cobra adds it only to the command that runs
			return of.Help()
		},
	}
}

// aboutCode returns what the page of messages has in the row of a code, each cell with the head of its column; "" if
// there is no such code.
func aboutCode(code string) string {
	var heads []string
	var text report.TextReport
	plain := strings.NewReplacer(`\|`, "|", "&lt;", "<", "`", "")
	for line := range strings.Lines(words.Messages) {
		cells := strings.Split(strings.Trim(line, "| \n"), " | ")
		switch cells[0] {
		case "code":
			heads = cells
		case "`" + code + "`":
			for i, cell := range cells[:min(len(cells), len(heads))] {
				text.Paragraph(heads[i]+": ", plain.Replace(cell))
			}
		}
	}
	return text.String()
}

func completeHelp(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	var names []string
	for _, c := range cmd.Root().Commands() {
		if c.IsAvailableCommand() {
			names = append(names, c.Name()+"\t"+c.Short)
		}
	}
	return slices.Concat(names, slices.Sorted(maps.Keys(topics))), cobra.ShellCompDirectiveNoFileComp
}
