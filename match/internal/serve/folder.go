package serve

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"
)

const folderPrefix = "toneplumb-serve-" // the start of the names of our folders in the system's temporary folder

const addressFile = "address" // the file in a folder with its server's address

// newFolder makes the private folder of a server that listens at address, and removes the folders
// of servers that are gone.
func newFolder(ctx context.Context, address string) (string, error) {
	removeLeft(ctx)
	dir, err := os.MkdirTemp("", folderPrefix) // 0700
	if err != nil {
		return "", err
	}
	if err := os.WriteFile(filepath.Join(dir, addressFile), []byte(address), 0o600); err != nil {
		os.RemoveAll(dir)
		return "", err
	}
	return dir, nil
}

// removeLeft removes folders whose server does not answer. A folder that cannot be read, or has no
// address yet, is kept for a day.
func removeLeft(ctx context.Context) {
	const newSec = 24 * 3600
	dirs, _ := filepath.Glob(filepath.Join(os.TempDir(), folderPrefix+"*"))
	for _, dir := range dirs {
		info, err := os.Lstat(dir)
		if err != nil || !info.IsDir() {
			continue
		}
		address, err := addressIn(dir)
		if err != nil && time.Since(info.ModTime()).Seconds() < newSec {
			continue
		}
		if err == nil && answers(ctx, address, filepath.Base(dir)) {
			continue
		}
		os.RemoveAll(dir) // another user's folder stays, since the system refuses
	}
}

// addressIn reads the address in a folder. Someone else may have made a folder there to block us,
// so only a small regular file is opened.
func addressIn(dir string) (string, error) {
	const longest = 64 // 127.0.0.1 and a port have 15
	path := filepath.Join(dir, addressFile)
	info, err := os.Lstat(path)
	if err != nil {
		return "", err
	}
	if !info.Mode().IsRegular() || info.Size() > longest {
		return "", fmt.Errorf("%q holds no address", path)
	}
	address, err := os.ReadFile(path)
	return strings.TrimSpace(string(address)), err
}

// livePath is the path at which a server confirms the folder it keeps.
const livePath = "/keeps/"

// answers reports whether the server at address keeps the folder. It contacts no address on
// another machine.
func answers(ctx context.Context, address, folder string) bool {
	host, _, err := net.SplitHostPort(address)
	if err != nil || host != "127.0.0.1" {
		return false
	}
	ctx, cancel := context.WithTimeout(ctx, time.Second) // on one machine it takes milliseconds
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodHead, "http://"+address+livePath+folder, nil)
	if err != nil {
		return false
	}
	client := &http.Client{
		Transport:     &http.Transport{DisableKeepAlives: true},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }, // it may lead elsewhere
	}
	response, err := client.Do(request)
	if err != nil {
		return ctx.Err() != nil // too busy to answer, not gone
	}
	response.Body.Close()
	return response.StatusCode == http.StatusNoContent
}
