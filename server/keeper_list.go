package main

import (
	"cmp"
	"errors"
	"os"
	"path/filepath"
	"slices"

	"evenwhite/api"
	"evenwhite/logbook/bolt"
)

// List lists the backups in all folders, the newest first. A second folder that is gone, as
// a card that was taken out, has none.
func (k *keeper) List() (all []api.Backup, err error) {
	for _, s := range []*shelf{k.own, k.other} {
		if s == nil {
			continue
		}
		made, err := bolt.Backups(s.path)
		if err != nil && !(s == k.other && errors.Is(err, os.ErrNotExist)) {
			return nil, err
		}
		for _, at := range made {
			b := api.Backup{Name: bolt.BackupName(at), MadeAt: at, CheckedAt: at, Second: s == k.other}
			if one, ok := k.readings.of(filepath.Join(s.path, b.Name)); ok {
				b.CheckedAt, b.Broken = one.at, !one.whole
			}
			if info, err := os.Stat(filepath.Join(s.path, b.Name)); err == nil && info.Mode().IsRegular() {
				b.Bytes = info.Size()
			} else {
				b.Unread = true
			}
			all = append(all, b)
		}
	}
	slices.SortFunc(all, func(a, b api.Backup) int { return cmp.Or(b.MadeAt.Compare(a.MadeAt), cmp.Compare(a.Name, b.Name)) })
	return all, nil
}

// Make makes a backup now. The error names no path: it is for anybody who owns the server.
func (k *keeper) Make() (last api.Backup, fresh bool, err error) {
	before := k.lastName()
	if !k.once() {
		return last, false, api.ErrBackup
	}
	all, err := k.List()
	if err != nil {
		return last, false, err
	}
	name := k.lastName()
	at := slices.IndexFunc(all, func(b api.Backup) bool { return b.Name == name && !b.Second })
	if at < 0 {
		return last, false, api.ErrBackup
	}
	return all[at], name != before, nil
}

// lastName is that of the last backup that this process made in its own folder.
func (k *keeper) lastName() string {
	k.making.Lock()
	defer k.making.Unlock()
	return filepath.Base(k.own.last)
}
