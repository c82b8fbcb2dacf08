"""The rule checker: whether the book is complete, consistent and within its budget."""
