package register

import (
	"net/mail"
	"strings"

	"pairwalk/events"
	"pairwalk/projection"
)

// address reads an e-mail address that stands alone. COBie wants one with a dot
// after the @.
func address(text string) (string, bool) {
	text = strings.TrimSpace(text)
	a, err := mail.ParseAddress(text)
	if err != nil || a.Address != text || strings.ContainsAny(text, ", \"") {
		return "", false
	}
	_, domain, _ := strings.Cut(text, "@")
	return text, strings.Contains(strings.Trim(domain, "."), ".")
}

func (r *register) contacts() {
	r.email, r.makers = map[events.Key]string{}, map[string]string{}
	t := r.tables["Contact"]
	keys := map[string]string{} // by folded address
	var rows []projection.Member
	for _, m := range r.site.Members {
		email, ok := address(m.Contact)
		if !ok || m.Standing == projection.Quarantined {
			continue
		}
		if _, twice := keys[fold(email)]; !twice {
			keys[fold(email)] = email
			rows = append(rows, m)
		}
		r.email[m.Key] = keys[fold(email)]
	}
	for _, m := range rows {
		r.contact(t, r.email[m.Key], &m.Joined, cells{"Category": string(m.Role), "GivenName": m.Name})
		t.ask("Category", r.email[m.Key], ownWords, false)
	}
	for i := range r.site.Devices {
		d := &r.site.Devices[i]
		email, ok := address(d.Maker)
		if !ok || d.Struck != nil || r.makers[fold(email)] != "" {
			continue
		}
		key, known := keys[fold(email)]
		if !known {
			key = email
			r.contact(t, key, rowOf(d), cells{})
		}
		r.makers[fold(email)] = key
	}
}

func (r *register) contact(t *table, key string, c *projection.Cause, row cells) {
	t.add(key, r.fromAs(c, row, "ExternalSystem", "ExternalObject", "ExternalIdentifier"))
}

// rowOf is the entry that put a device on the register: its row of the schedule, or
// what was first found in the field.
func rowOf(d *projection.Device) *projection.Cause {
	if d.Row != nil {
		return d.Row
	}
	c := d.Fitted
	if d.Paired != nil {
		c = first(c, &d.Paired.Cause)
	}
	if c == nil {
		c = d.Since
	}
	return c
}
