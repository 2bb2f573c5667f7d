//go:build js && wasm

// Engine is the engine of the phone: the rooms below, built for WebAssembly, asked by a
// worker. It puts one function into the page's world:
//
//	evenwhite(name: string, text: string, bytes?: Uint8Array): {ok: boolean, text: string, bytes?: Uint8Array}
//
// What may be asked stands in logbook/handset.
package main

import (
	"runtime/debug"
	"syscall/js"

	"evenwhite/logbook/handset"
)

// The memory of WebAssembly never shrinks: what is left lying, a phone pays for. So 24 MB of it may lie before
// it is collected, and a long job 2/5 of what lives. held is how many bytes of edits were handed in; they take
// three times as much.
func collect(held int) {
	debug.SetGCPercent(min(max(100*(24<<20)/(3*held+1), 40), 150))
}

func main() {
	held := 0
	collect(held)
	engine := new(handset.Engine)
	array := js.Global().Get("Uint8Array")
	js.Global().Set("evenwhite", js.FuncOf(func(_ js.Value, args []js.Value) any {
		var in []byte
		if len(args) > 2 && args[2].Truthy() {
			in = make([]byte, args[2].Length())
			js.CopyBytesToGo(in, args[2])
		}
		name := args[0].String()
		switch name {
		case "open":
			held = 0
		case "hold":
			held += len(in)
			collect(held)
		}
		a, ok := engine.Call(name, []byte(args[1].String()), in)
		out := map[string]any{"ok": ok, "text": string(a.JSON)}
		if a.Bytes != nil {
			bytes := array.New(len(a.Bytes))
			js.CopyBytesToJS(bytes, a.Bytes)
			out["bytes"] = bytes
		}
		return out
	}))
	select {}
}
