package footage

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// A Recording is one recorded clip of a card: its files, however many they are.
type Recording struct {
	Name   string // without what follows the last dot
	Folder string
	Files  int
	Size   int64 // of all files that say one; -1: none does
	Hash   string
	Copies int // places in which the same was found again
	Said   Settings
	At     moment
	line   int
	path   string // of a single file that may be a folder
}

// A Collection is the files of some listings, of which those that belong together are one.
type Collection struct {
	found   map[string]*Recording
	folders map[string]bool
	files   int
	beside  int // sidecars, sound, lists and hidden files
}

// NewCollection is a collection of no files.
func NewCollection() *Collection {
	return &Collection{found: map[string]*Recording{}, folders: map[string]bool{}}
}

func set(words string) map[string]bool {
	all := map[string]bool{}
	for _, w := range strings.Fields(words) {
		all[w] = true
	}
	return all
}

// besides are the endings of what stands beside recordings: lists, descriptions, looks, thumbnails, sound.
var besides = set("xml txt csv tsv json pdf html htm md rtf doc docx xls xlsx log md5 sha1 sha256 sha512 xxh c4 mhl ale edl " +
	"fcpxml otio aaf lut cube 3dl look ccc cc cdl db ini plist bak tmp thm lrv wav bwf aif aiff mp3 m4a aac flac zip tar gz exe app sh srt " +
	"idx cpi bdm mpl bin dat sidecar xmp")

// pictures are the endings of frames: many of them are one recording.
var pictures = set("dng dpx exr tif tiff cin j2c j2k jp2 jpg jpeg png ari arx raw arw cr2 cr3 nef")

// proxyWords are folders and endings of names that say that a file stands for another.
var proxyWords = set("proxy proxies proxys prox pxy prx lowres sub offline thmbnl thumbs thumbnails preview previews dailies")

// clean writes a path in one way.
func clean(path string) string {
	path = strings.ReplaceAll(path, "//", "/")
	for strings.HasPrefix(path, "./") {
		path = path[2:]
	}
	if path == "." {
		return ""
	}
	return strings.TrimSuffix(path, "/")
}

func split(path string) (folder, name string) {
	at := strings.LastIndexByte(path, '/')
	if at < 0 {
		return "", path
	}
	return path[:at], path[at+1:]
}

// stemOf cuts off the ending of a file's name.
func stemOf(name string) (stem, ending string) {
	at := strings.LastIndexByte(name, '.')
	if at <= 0 || len(name)-at > 9 || len(name)-at < 2 {
		return name, ""
	}
	ending = strings.ToLower(name[at+1:])
	for _, r := range ending {
		if (r < 'a' || r > 'z') && (r < '0' || r > '9') {
			return name, ""
		}
	}
	return name[:at], ending
}

func upper(text string) string { return strings.ToUpper(text) }

// add takes in one file.
func (c *Collection) add(e entry) error {
	e.path = clean(e.path)
	folder, name := split(e.path)
	for at := folder; at != "" && !c.folders[at]; at, _ = split(at) {
		c.folders[at] = true
	}
	if name == "" {
		return nil
	}
	c.files++
	stem, ending := stemOf(name)
	if strings.HasPrefix(name, ".") || besides[ending] || strings.EqualFold(name, "thumbs.db") {
		c.beside++
		return nil
	}
	still := pictures[ending]
	if still {
		cut := strings.TrimRight(stem, "0123456789")
		if ending[0] == 'j' && len(stem)-len(cut) < 4 {
			c.beside++ // a thumbnail
			return nil
		}
		if len(stem)-len(cut) >= 4 {
			stem = strings.TrimRight(cut, "._- ")
		}
	}
	key := folder + "/" + upper(stem)
	r := c.found[key]
	if r == nil {
		if len(c.found) >= mostRecordings {
			return fmt.Errorf("%w: it has more than %d recordings; list one day at a time", ErrTooLong, mostRecordings)
		}
		r = &Recording{Name: stem, Folder: folder, Size: -1, line: e.line, path: e.path}
		c.found[key] = r
	}
	r.take(e)
	return nil
}

// take adds a file. The first moment counts: a proxy is made later, and a sequence begins with
// its first frame.
func (r *Recording) take(e entry) {
	r.Files++
	if !e.plain || r.Files > 1 {
		r.path = ""
	}
	if e.size >= 0 {
		r.Size = max(r.Size, 0) + e.size
	}
	if e.at.said() && (!r.At.said() || e.at.at < r.At.at) {
		r.At = e.at
	}
	r.Hash = cmp.Or(r.Hash, strings.ToLower(e.hash))
	r.Said = Settings{cmp.Or(r.Said.Kelvin, e.said.Kelvin), cmp.Or(r.Said.Tint, e.said.Tint), cmp.Or(r.Said.Lens, e.said.Lens)}
}

// join takes over another part of the same recording.
func (r *Recording) join(o *Recording) {
	r.Files += o.Files - 1
	r.take(entry{size: o.Size, at: o.At, hash: o.Hash, said: o.Said})
}

// Recordings are the recordings of the files. isClip says whether a name is like those in the log:
// a folder of such a name holds one recording.
func (c *Collection) Recordings(isClip func(string) bool) []*Recording {
	all := make([]*Recording, 0, len(c.found))
	for _, r := range c.found {
		if r.path == "" || !c.folders[r.path] {
			all = append(all, r)
		}
	}
	sortRecordings(all)
	all = intoFolders(all, isClip)
	all = proxied(all)
	all = copied(all)
	all = nowhere(all)
	sortRecordings(all)
	return all
}

func sortRecordings(all []*Recording) {
	slices.SortFunc(all, func(a, b *Recording) int { return cmp.Or(cmp.Compare(a.Folder, b.Folder), cmp.Compare(a.Name, b.Name)) })
}

// intoFolders makes one recording of what stands in a folder that is called like a clip.
func intoFolders(all []*Recording, isClip func(string) bool) []*Recording {
	out, made := all[:0], map[string]*Recording{}
	for _, r := range all {
		above, name := split(r.Folder)
		name, _ = stemOf(name)
		if name == "" || !isClip(name) || !strings.HasPrefix(upper(r.Name), upper(name)) && !strings.HasPrefix(upper(name), upper(r.Name)) {
			out = append(out, r)
			continue
		}
		key := above + "/" + upper(name)
		if first := made[key]; first != nil {
			first.join(r)
			continue
		}
		r.Folder, r.Name = above, name
		made[key] = r
		out = append(out, r)
	}
	return out
}

// proxyOf is the name of what a proxy stands for, and whether it is one.
func proxyOf(r *Recording) (name string, is bool) {
	name = upper(r.Name)
	if at := strings.LastIndexAny(name, "_- ."); at > 0 && proxyWords[strings.ToLower(name[at+1:])] {
		return name[:at], true
	}
	for _, word := range strings.FieldsFunc(strings.ToLower(r.Folder), func(r rune) bool { return strings.ContainsRune("/_- ", r) }) {
		is = is || proxyWords[word]
	}
	return name, is
}

// proxied leaves out proxies of recordings that are here as well.
func proxied(all []*Recording) []*Recording {
	whole := map[string][]*Recording{}
	for _, r := range all {
		if _, is := proxyOf(r); !is {
			whole[upper(r.Name)] = append(whole[upper(r.Name)], r)
		}
	}
	return slices.DeleteFunc(all, func(r *Recording) bool {
		name, is := proxyOf(r)
		if !is {
			return false
		}
		of := whole[name]
		if of == nil && len(name) > 3 && name[len(name)-3] == 'S' { // a letter and two digits follow
			of = whole[name[:len(name)-3]]
		}
		if of == nil {
			return false
		}
		near := slices.MaxFunc(of, func(a, b *Recording) int {
			return cmp.Compare(shared(a.Folder, r.Folder), shared(b.Folder, r.Folder))
		})
		near.Files += r.Files
		return true
	})
}

// shared counts the folders that two paths have in common.
func shared(a, b string) (n int) {
	in := map[string]bool{}
	for _, part := range strings.Split(a, "/") {
		in[upper(part)] = true
	}
	for _, part := range strings.Split(b, "/") {
		if in[upper(part)] {
			n++
		}
	}
	return n
}

// copied makes one of a recording and its copies in other places: the same name and size, and no
// sum or time that says otherwise.
func copied(all []*Recording) []*Recording {
	type alike struct {
		name string
		size int64
	}
	first := map[alike][]*Recording{}
	return slices.DeleteFunc(all, func(r *Recording) bool {
		if r.Size <= 0 {
			return false
		}
		key := alike{upper(r.Name), r.Size}
		for _, other := range first[key] {
			if sameFile(other, r) {
				other.Copies++
				other.Hash = cmp.Or(other.Hash, r.Hash)
				return true
			}
		}
		first[key] = append(first[key], r)
		return false
	})
}

func sameFile(a, b *Recording) bool {
	if a.Hash != "" && b.Hash != "" && len(a.Hash) == len(b.Hash) {
		return a.Hash == b.Hash
	}
	if a.At.said() && b.At.said() {
		return max(a.At.at-b.At.at, b.At.at-a.At.at) <= 2000+max(a.At.grain, b.At.grain)
	}
	return a.Hash == "" && b.Hash == "" && a.At.said() == b.At.said() && a.Size > 1<<20
}

// nowhere joins what has no folder, as in tables, with the one recording of that name.
func nowhere(all []*Recording) []*Recording {
	placed := map[string][]*Recording{}
	for _, r := range all {
		if r.Folder != "" {
			placed[upper(r.Name)] = append(placed[upper(r.Name)], r)
		}
	}
	return slices.DeleteFunc(all, func(r *Recording) bool {
		if of := placed[upper(r.Name)]; r.Folder == "" && len(of) == 1 {
			of[0].join(r)
			return true
		}
		return false
	})
}
