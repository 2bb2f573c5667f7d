package main

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"

	"evenwhite/server/command"
)

// The console is how other commands speak to a server that runs on the same data
// folder: a second listener on the loopback interface, whose address and secret
// stand in a file that only the folder's owner can read. Being at the machine is
// the root of trust. The file is written when the server is ready and removed when
// it stops; one left by a crash leads nowhere.

const consoleName = "console.json"

type consoleFile struct {
	Address string `json:"address"`
	Secret  string `json:"secret"`
}

// errNotRunning says that no server runs on a data folder.
var errNotRunning = errors.New("no server is running on this data folder")

// consoleHint and consoleStatus carry a failure over the console.
const (
	consoleHint   = "Evenwhite-Hint"
	consoleStatus = "Evenwhite-Exit-Status"
)

// A task is what the server does for another command: it writes what that command
// prints.
type task func(w io.Writer, query url.Values) error

// A console is open while the server runs. Its file may be missing for a time: a full
// disk is no reason not to serve what can be read.
type console struct {
	path   string
	file   consoleFile
	server *http.Server
	end    chan struct{}
	ended  sync.WaitGroup

	mu      sync.Mutex
	unsaid  error // why the file is not written; nil once it is
	stopped bool
}

// openConsole serves tasks until the console is stopped.
func openConsole(folder string, tasks map[string]task) (*console, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	c := &console{path: filepath.Join(folder, consoleName), file: consoleFile{l.Addr().String(), rand.Text()}, end: make(chan struct{})}
	c.server = &http.Server{Handler: consoleHandler(c.file.Secret, tasks), ReadHeaderTimeout: 5 * time.Second}
	go func() { _ = c.server.Serve(l) }() // ends with Close
	if err := c.announce(); err != nil {
		c.ended.Go(c.announceLater)
	}
	return c, nil
}

// announce writes the file, unless the console is stopped.
func (c *console) announce() error {
	b, err := json.Marshal(c.file)
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.stopped {
		return nil
	}
	if err == nil {
		err = writeWhole(c.path, 0o600, func(w io.Writer) error {
			_, err := w.Write(b)
			return err
		})
	}
	c.unsaid = err
	return err
}

// announceEvery is how long a console waits for room for its file.
const announceEvery = 5 * time.Second

func (c *console) announceLater() {
	tick := time.NewTicker(announceEvery)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			if c.announce() == nil {
				return
			}
		case <-c.end:
			return
		}
	}
}

// silent says why other commands cannot find this server, or nil.
func (c *console) silent() error {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.unsaid
}

func (c *console) stop() {
	c.mu.Lock()
	c.stopped = true
	c.mu.Unlock()
	close(c.end)
	c.ended.Wait()
	_ = os.Remove(c.path)
	ctx, cancel := context.WithTimeout(context.Background(), shutdownTime)
	defer cancel()
	_ = c.server.Shutdown(ctx)
}

func consoleHandler(secret string, tasks map[string]task) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		given := strings.TrimPrefix(r.Header.Get("Authorization"), "Bearer ")
		if subtle.ConstantTimeCompare([]byte(given), []byte(secret)) != 1 {
			http.Error(w, "forbidden", http.StatusForbidden)
			return
		}
		run, ok := tasks[strings.TrimPrefix(r.URL.Path, "/")]
		if !ok {
			http.Error(w, "this server does not know the task", http.StatusNotFound)
			return
		}
		out := &startedWriter{w: w}
		err := run(out, r.URL.Query())
		if err == nil {
			return
		}
		if out.started {
			panic(http.ErrAbortHandler) // the reader must not take half an answer for a whole one
		}
		var f *command.Failure
		if errors.As(err, &f) {
			w.Header().Set(consoleHint, f.Hint)
			w.Header().Set(consoleStatus, strconv.Itoa(f.Code))
		}
		http.Error(w, err.Error(), http.StatusInternalServerError)
	})
}

type startedWriter struct {
	w       io.Writer
	started bool
}

func (s *startedWriter) Write(b []byte) (int, error) {
	s.started = true
	return s.w.Write(b)
}

// callConsole has the server on a data folder carry out a task and copies its
// answer to out. Where none runs, the error is errNotRunning.
func callConsole(folder, name string, query url.Values, out io.Writer) error {
	b, err := os.ReadFile(filepath.Join(folder, consoleName))
	if errors.Is(err, os.ErrNotExist) {
		return errNotRunning
	}
	if err != nil {
		return command.Fail(err, "only the user who runs the server may speak to it here")
	}
	var file consoleFile
	if err := json.Unmarshal(b, &file); err != nil {
		return fmt.Errorf("%s: %w", consoleName, err)
	}
	to := url.URL{Scheme: "http", Host: file.Address, Path: "/" + name, RawQuery: query.Encode()}
	req, err := http.NewRequest(http.MethodPost, to.String(), nil)
	if err != nil {
		return err
	}
	req.Header.Set("Authorization", "Bearer "+file.Secret)
	client := http.Client{Transport: &http.Transport{DisableKeepAlives: true}} // no proxy: it is this machine
	res, err := client.Do(req)
	var refused *net.OpError
	if errors.As(err, &refused) && refused.Op == "dial" {
		return errNotRunning
	}
	if err != nil {
		return err
	}
	defer res.Body.Close()
	if res.StatusCode == http.StatusForbidden {
		return errNotRunning // another program has taken the port of a server that crashed
	}
	if res.StatusCode == http.StatusOK {
		_, err = io.Copy(out, res.Body)
		return err
	}
	text, err := io.ReadAll(io.LimitReader(res.Body, 64<<10))
	if err != nil {
		return err
	}
	code, err := strconv.Atoi(res.Header.Get(consoleStatus))
	if err != nil {
		code = command.ExitFailed
	}
	return command.FailAs(code, errors.New(strings.TrimSpace(string(text))), res.Header.Get(consoleHint))
}
