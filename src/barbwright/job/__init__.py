"""A job: what a part is made from, read from texts, and as the numbers the sizing works on."""
