//go:build !race && !js

package logtest

const slow = false
