package main

import (
	"errors"
	"os"

	"evenwhite/logbook/handover"
	"evenwhite/logbook/states"
	"evenwhite/server/command"
)

// stateGiven is the name of the state that an argument gives: itself, or of a file the one that is
// named in it.
func stateGiven(arg string) (string, error) {
	file, err := os.Open(arg)
	if err != nil { // no file: a name
		return arg, nil
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return "", err
	}
	name, err := handover.StateIn(file, info.Size())
	if err != nil {
		return "", command.Fail(err, "give a colour log that this program wrote, or the name of a state")
	}
	return name, nil
}

// stateFailure says what to do about a state that is not here.
func stateFailure(err error) error {
	switch {
	case errors.Is(err, states.ErrNotHeld):
		return command.Fail(err, "let the devices that have them exchange, or take a bundle that holds them: evenwhite bundle take")
	case errors.Is(err, states.ErrName), errors.Is(err, states.ErrUnknown):
		return command.Fail(err, "give the file of a colour log, or the name of its state")
	}
	return storeFailure(err)
}
