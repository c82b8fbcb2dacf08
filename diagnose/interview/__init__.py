"""The guided interview: answers, search, the course of a case, and the dialogue at the bench."""
