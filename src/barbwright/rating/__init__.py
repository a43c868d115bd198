"""The question turned round: how far can a part go, and what would cure it."""
