"""The first day of a site: where it is served, its certificate, its first person and business."""
