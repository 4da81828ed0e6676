package job

import "testing"

// %q does not double backslashes of paths, and other verbs work as usual.
func TestFail(t *testing.T) {
	err := Fail("", "%q: %s, %d of %v", `C:\a b.wav`, "broken", 3, `D:\c`)
	if got, want := err.Error(), `"C:\a b.wav": broken, 3 of D:\c`; got != want {
		t.Errorf("%s: want %s", got, want)
	}
}
