package flags

import (
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"toneplumb/match/job"

	"github.com/spf13/cobra"
)

// ExpandsPatterns lets a command take patterns of files with * and ?, which shells on
// Windows hand over as they are written.
func ExpandsPatterns(c *cobra.Command) *cobra.Command {
	run := c.RunE
	c.RunE = func(cmd *cobra.Command, args []string) error {
		args, err := Expand(args)
		if err != nil {
			return err
		}
		return run(cmd, args)
	}
	return c
}

// Expand puts the files that match a pattern in its place, in order of their names. A file
// whose name is the pattern is that file. Hidden files match only a pattern that begins
// with a dot, as in a shell. A pattern without any file is an error.
func Expand(args []string) ([]string, error) {
	var all []string
	for _, arg := range args {
		if _, err := os.Lstat(arg); err == nil || !strings.ContainsAny(arg, "*?") {
			all = append(all, arg)
			continue
		}
		found, err := filepath.Glob(literal(arg))
		if err != nil { // * and ? alone are always in order
			return nil, job.Fail("name the files one by one", "the pattern %q cannot be read", arg)
		}
		if !strings.HasPrefix(filepath.Base(arg), ".") {
			found = slices.DeleteFunc(found, func(path string) bool { return strings.HasPrefix(filepath.Base(path), ".") })
		}
		if len(found) == 0 {
			return nil, job.Fail("check the folder and the extension", "no file matches %q", arg)
		}
		all = append(all, found...)
	}
	return all, nil
}

// literal escapes what filepath.Glob understands beside * and ?: square brackets, which
// names of recordings do hold, and outside Windows the backslash.
func literal(pattern string) string {
	if runtime.GOOS != "windows" {
		pattern = strings.ReplaceAll(pattern, `\`, `\\`)
	}
	return strings.ReplaceAll(pattern, "[", "[[]")
}
