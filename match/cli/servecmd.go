package cli

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"runtime"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"toneplumb/match/internal/serve"
	"toneplumb/spectrum/finding"
)

func newServe() *cobra.Command {
	port := 0
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "the whole job on a page in your browser",
		Long: `Opens a page in the browser, on this machine alone. Drop a mix and references,
see and hear the moves, adjust them, and take the files away. The address works
once, for one browser. What was dropped is gone when the page is stopped with
Ctrl-C; nothing leaves this machine.`,
		Example: "  toneplumb serve\n  toneplumb serve --port 8000",
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return fail(finding.FilesNeeded, "toneplumb serve, and drop the files on the page", "serve takes no files, %d given", len(args))
			}
			if port < 0 || port > 65535 {
				return fail(finding.WrongOption, "0 takes a free one; common ones are 1024 to 65535", "there is no port %d", port)
			}
			return runServe(cmd.Context(), port, cmd.InOrStdin(), cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	cmd.Flags().IntVar(&port, "port", port, "listen at port `N` of 127.0.0.1 (default a free one)")
	return cmd
}

func runServe(ctx context.Context, port int, stdin io.Reader, stdout, stderr io.Writer) error {
	s, err := serve.New(ctx, port, stderr)
	if err != nil {
		return err
	}
	fmt.Fprintln(stdout, s.URL())
	fmt.Fprintln(stderr, "This address opens the page, once. Ctrl-C stops it and takes away what was dropped there.")
	if isTerminal(stdout) {
		openBrowser(s.URL())
	}
	if isTerminal(stdin) {
		fmt.Fprintln(stderr, "Press Enter for an address that lets another browser in.")
		go newEntrances(stdin, stdout, s.NewURL)
	}
	if err := s.Run(ctx); err != nil {
		return fail(finding.System, "start it again", "the page stopped: %s", err)
	}
	return nil
}

// newEntrances prints an address for each line that is entered. It runs until the program ends,
// since a read from a terminal cannot be cancelled.
func newEntrances(stdin io.Reader, stdout io.Writer, newURL func() string) {
	for lines := bufio.NewScanner(stdin); lines.Scan(); {
		fmt.Fprintln(stdout, newURL())
	}
}

// openBrowser opens an address in the system's preferred browser, if there is one. The address is
// printed in any case.
func openBrowser(address string) {
	command := map[string][]string{"darwin": {"open"}, "windows": {"rundll32", "url.dll,FileProtocolHandler"}}[runtime.GOOS]
	if command == nil {
		command = []string{"xdg-open"}
	}
	open := exec.Command(command[0], append(command[1:], address)...)
	if open.Start() == nil {
		go open.Wait()
	}
}

// isTerminal reports whether a stream is a terminal. A character device need not be one: /dev/null
// is not.
func isTerminal(stream any) bool {
	file, is := stream.(*os.File)
	return is && term.IsTerminal(int(file.Fd()))
}

// offerBrowser runs if the program has no arguments. On a terminal, which a double click may have opened,
// it offers to open the page.
func offerBrowser(cmd *cobra.Command) error {
	if err := cmd.Help(); err != nil {
		return err
	}
	in, out := cmd.InOrStdin(), cmd.OutOrStdout()
	if !isTerminal(in) || !isTerminal(out) {
		return nil
	}
	fmt.Fprint(out, "\nPress Enter for the page in your browser; Ctrl-C ends. ")
	entered := make(chan bool, 1)
	go func() {
		_, err := bufio.NewReader(in).ReadString('\n')
		entered <- err == nil
	}()
	select {
	case <-cmd.Context().Done():
		return nil
	case yes := <-entered:
		if !yes {
			return nil
		}
	}
	return runServe(cmd.Context(), 0, in, out, cmd.ErrOrStderr())
}
