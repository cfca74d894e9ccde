"""Jobs, cache, links, swap, lock, preview: what any site of files needs. This room knows no film."""
