"""The plant's record on disk: schema, migrations, SQLite and PostgreSQL behind one face; sheets in and out."""
