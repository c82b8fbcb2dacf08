"""What stands outside the project: published statements, tube figures, common practice, safety."""
