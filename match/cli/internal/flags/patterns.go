package flags

import (
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"toneplumb/match/job"
	"toneplumb/spectrum/finding"

	"github.com/spf13/cobra"
)

// ExpandsPatterns makes a command expand file patterns with * and ?, which shells on Windows pass on
// unexpanded.
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

// Expand replaces each pattern by the files that match it, in order of their names. If a file has
// the pattern as its name, it stands for that file. Hidden files match only patterns that begin with
// a dot, as in a shell. A pattern without any file is an error.
func Expand(args []string) ([]string, error) {
	var all []string
	for _, arg := range args {
		if _, err := os.Lstat(arg); err == nil || !strings.ContainsAny(arg, "*?") {
			all = append(all, arg)
			continue
		}
		found, err := filepath.Glob(literal(arg))
		if err != nil { // with only * and ?, patterns are always valid
			return nil, job.Fail(finding.WrongOption, "name the files one by one", "the pattern %q cannot be read", arg)
		}
		if !strings.HasPrefix(filepath.Base(arg), ".") {
			found = slices.DeleteFunc(found, func(path string) bool { return strings.HasPrefix(filepath.Base(path), ".") })
		}
		if len(found) == 0 {
			return nil, job.Fail(finding.NotFound, "check the folder and the extension", "no file matches %q", arg)
		}
		all = append(all, found...)
	}
	return all, nil
}

// Matches reports whether a pattern with * and ? matches a name.
func Matches(pattern, name string) bool {
	if !strings.ContainsAny(pattern, "*?") {
		return false
	}
	ok, err := filepath.Match(literal(pattern), name)
	return ok && err == nil
}

// literal escapes what filepath.Glob understands apart from * and ?: square brackets, which occur
// in names of recordings, and outside Windows the backslash.
func literal(pattern string) string {
	if runtime.GOOS != "windows" {
		pattern = strings.ReplaceAll(pattern, `\`, `\\`)
	}
	return strings.ReplaceAll(pattern, "[", "[[]")
}
