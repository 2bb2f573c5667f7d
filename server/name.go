package main

import (
	"context"
	"errors"
	"fmt"

	"evenwhite/server/command"
	"evenwhite/server/lan"
	"evenwhite/server/lan/name"
)

// tellsName reports whether the server tells its name on the network itself.
func (h *host) tellsName() bool { return h.listen == "" && !h.noMDNS && h.origin.Local() }

// askForName asks the network for the server's name, which takes up to a second, beside what
// else a start needs. What it returns waits for the end of it.
func (h *host) askForName(ctx context.Context) (wait func() error) {
	if !h.tellsName() {
		return func() error { return nil }
	}
	asked := make(chan error, 1)
	go func() {
		var err error
		h.teller, err = name.Claim(ctx, name.Config{Name: h.origin.Name, Links: links(h.reach), Log: h.log})
		asked <- err
	}()
	return func() error { return h.heedName(<-asked) }
}

// heedName decides what becomes of a start whose name could not be had. A taken name ends it:
// devices would reach the other machine. Without the port the rest works.
func (h *host) heedName(err error) error {
	var taken *name.Taken
	switch {
	case err == nil || errors.Is(err, context.Canceled):
		return nil
	case errors.As(err, &taken):
		return command.Fail(fmt.Errorf("%w: devices would reach that one. Nothing was changed", err), h.otherName(taken.Proposal))
	case errors.Is(err, name.ErrPort):
		h.unnamed = fmt.Sprintf("devices do not find this server as %s: %v. Switch multicast DNS off there, or have it share the port, "+
			"and start the server again; where that program tells this name itself, start with --no-mdns", h.origin.Host(), err)
	default:
		h.unnamed = fmt.Sprintf("devices do not find this server as %s: it cannot be told: %v", h.origin.Host(), err)
	}
	h.log.Warn(h.unnamed)
	return nil
}

// otherName is what to do about a taken name. Under another one browsers do not find what
// they hold.
func (h *host) otherName(proposal string) string {
	other := "choose another name with --name"
	if proposal != "" {
		other = "nobody here is called " + proposal + ": evenwhite serve --name " + proposal
	}
	switch {
	case h.rename:
		return other + " --rename"
	case h.isKept:
		return "switch the other device off, or give it another name; devices know this server by its own. Else " + other +
			" --rename, which lists whose unsent edits wait for the old name"
	}
	return other
}

// closeName says goodbye.
func (h *host) closeName() {
	if h.teller != nil {
		h.teller.Stop()
	}
}

// nameWarnings says what keeps devices from finding the server by its name.
func (h *host) nameWarnings() []string {
	if h.unnamed != "" {
		return []string{h.unnamed}
	}
	if h.teller == nil {
		return nil
	}
	return h.teller.Warnings()
}

func links(reach []lan.Interface) (list []name.Link) {
	for _, i := range reach {
		list = append(list, name.Link(i))
	}
	return list
}
