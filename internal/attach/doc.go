// Package attach keeps files that belong to entries: photographs of a label or a
// chromatogram, a laboratory's sheet. They lie in the data folder by the digest of
// what they hold, so that the same picture twice is one file, and a file that was
// changed behind the program's back is found.
//
//	store, err := attach.Open(filepath.Join(data, "files"), attach.Limits{})
//	kept, err := store.Keep("paper.jpg", r)       // sha256:…, image/jpeg, 412 KB
//	entry := cellar.Attachment{To: id, Name: kept.Name, Type: kept.Type, Bytes: kept.Bytes, Digest: kept.Digest}
//	small, err := store.Thumb(kept.Digest, 320)   // a JPEG of at most 320 × 320
//
// Files are never changed and never deleted here; what a struck entry pointed at
// stays. Type is found by looking at the first bytes, never believed from a name,
// since a page that a browser would run must not pass for a picture. Thumbnails
// are made anew from the pixels and carry no place or camera; originals are kept
// to the byte, with whatever the camera wrote into them.
package attach
