package page_test

import (
	"bytes"
	"fmt"
	"strings"

	"toneplumb/match/page"
)

// What the local page shows in place of an answer: a whole page, and the policy to serve it with, which lets it fetch
// nothing.
func ExampleRefusal() {
	html, policy, err := page.Refusal("there is no such view", "reload the page")
	fmt.Println(bytes.Contains(html, []byte("there is no such view")), err)
	fmt.Println(strings.Split(policy, ";")[0])
	// Output:
	// true <nil>
	// default-src 'none'
}
