"""Values as screens, tables and JSON: describes, and never reads or decides."""
