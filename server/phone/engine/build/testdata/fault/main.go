// Fault uses what the runtime reads of its table of functions: it grows a stack, collects
// garbage below it, recovers from a fault, and then ends by one.
package main

import (
	"fmt"
	"runtime"
)

type list struct {
	next *list
	text string
}

func deep(n int) *list {
	if n == 0 {
		runtime.GC()
		return nil
	}
	here := &list{text: fmt.Sprint(n)}
	here.next = deep(n - 1)
	return here
}

func recovered() (what any) {
	defer func() { what = recover() }()
	fall(nil)
	return nil
}

func fall(at *list) { fmt.Println(at.text) }

func main() {
	count := 0
	for at := deep(20000); at != nil; at = at.next {
		count += len(at.text)
	}
	fmt.Println(count, recovered())
	fall(nil)
}
