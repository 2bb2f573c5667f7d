// Package door decides whose request is heard at all, before anything looks at what it asks:
// the server must be called by a name or address of its own, and a change must not come from
// another site's page. It also holds the headers that every answer carries.
package door
