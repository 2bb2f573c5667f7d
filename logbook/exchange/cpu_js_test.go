package exchange_test

import (
	"syscall/js"
	"time"
)

// cpuTime is what this process has used of the processors so far, as Node.js counts it.
func cpuTime() time.Duration {
	used := js.Global().Get("process").Call("cpuUsage")
	return time.Duration(used.Get("user").Int()+used.Get("system").Int()) * time.Microsecond
}
