package main

import (
	"fmt"
	"os"
	"path/filepath"

	"elevage/internal/advise"
)

// ownProtocols are the built-in protocols with the person's own, from the folder
// "protocols" beside the cellar, in their place or beside them. A file that
// cannot be read is an error that names it: a plan by half the rules would be
// worse than none.
func ownProtocols(folder string) (*advise.Library, error) {
	files, err := filepath.Glob(filepath.Join(folder, "protocols", "*.yaml"))
	if err != nil || len(files) == 0 {
		return advise.BuiltIn(), err
	}
	var own []*advise.Protocol
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		p, err := advise.ParseProtocol(filepath.Base(file), text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", file, err)
		}
		own = append(own, p)
	}
	return advise.BuiltIn().With(own...)
}
