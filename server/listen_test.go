package main

import (
	"errors"
	"net"
	"os"
	"strings"
	"syscall"
	"testing"

	"evenwhite/server/command"
)

func TestAPortThatCannotBeHadIsSaidWithWhatToDo(t *testing.T) {
	for errno, want := range map[syscall.Errno]string{syscall.EACCES: "choose a higher one", syscall.EADDRINUSE: "stop that one"} {
		err := portFailure(&net.OpError{Op: "listen", Net: "tcp", Err: os.NewSyscallError("bind", errno)}, "stop that one")
		var f *command.Failure
		if !errors.As(err, &f) || !strings.Contains(f.Hint, want) || !errors.Is(err, errno) {
			t.Errorf("%s: got %v, want the hint %q", errno, err, want)
		}
	}
}
