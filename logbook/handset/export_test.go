package handset

import "evenwhite/logbook/answers"

// Value is what a message is answered with, before it is written.
func (e *Engine) Value(name string, text, in []byte) (any, []byte, error) {
	return e.call(name, text, in)
}

// FaultOf is the answer to a message that was not carried out.
func FaultOf(err error) *Fault {
	fault := faultOf(err)
	return &fault
}

// WrittenOut writes an answer as the engine does.
func WrittenOut(at any) ([]byte, error) { return answers.Write(at, ownTypes) }
