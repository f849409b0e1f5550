"""What is typed on the alignment pages, checked before a service sees it."""
