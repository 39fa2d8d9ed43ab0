"""Writers: they format tables and never compute."""
