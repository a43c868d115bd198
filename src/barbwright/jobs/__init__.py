"""From a job to a judged design, and from a judged design to files."""
