"""How people write things: lengths, splits, names, tables, TOML; and what is wrong with them, in one line."""
