package page

import (
	"bytes"
	"html/template"
)

var refusalTemplate = template.Must(template.Must(pageTemplate.Clone()).New("refusal").Parse(
	`{{template "head" .}}<title>toneplumb: {{.What}}</title>
{{template "style" .}}<main>
<h1>toneplumb serve: {{.What}}</h1>
<p>To go on, {{.Hint}}.</p>
</main>
</body>
</html>
`))

// Refusal returns a page that tells a person why the local server refuses a request, and what to do,
// with the policy to send as its header.
func Refusal(what, hint string) (html []byte, policy string, err error) {
	policy = servedPolicy(pageCSS, "")
	var out bytes.Buffer
	err = refusalTemplate.Execute(&out, struct {
		What, Hint, Policy string
		Style              template.CSS
	}{what, hint, policy, template.CSS(pageCSS)})
	return out.Bytes(), policy + "; frame-ancestors 'none'", err
}
