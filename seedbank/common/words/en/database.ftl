# What the room database says.

no-rows-asked = { cannot-be }
    .mend = Ask for 1 row or more.
cursor-of-another-list = { cannot-be }
    .mend = Use a cursor exactly as a page of this list gave it.


database-address-misread = Can't use the database '{ $value }'.
    .mend = Write it like sqlite:///seedbank.db or postgresql://user@host/name.
no-such-engine = Can't use the database '{ $value }'.
    .mend = Use an SQLite file or PostgreSQL: sqlite:/// or postgresql://.
no-postgresql-driver = Can't use the database '{ $value }'.
    .mend = Install the PostgreSQL driver: pip install 'seedbank[postgres]'.
database-is-folder = Can't use the database '{ $value }'.
    .mend = Name a file, not a folder.
folder-not-writable = Can't use the database '{ $value }'.
    .mend = Choose a folder that can be written to ({ $why }).
database-file-refused = Can't use the database '{ $value }'.
    .mend = Name another file, this one is refused ({ $why }).
links-broken = Can't use the database '{ $value }'.
    .mend = Restore a copy: rows of { $table } refer to rows that are gone.

# What ails a database (database.database_faults).

database-full = There is no room left where the collection is kept. Nothing was changed.
    .mend = Make room on that disk, then send the same request again.
database-read-only = The collection may be read but not written to. Nothing was changed.
    .mend = Let the program write to the file and its folder, then send the same request again.
database-corrupt = The collection's file is damaged. Nothing was changed.
    .mend = Stop the program, keep a copy of the file, and restore the last backup: seedbank restore.
database-busy = The collection is busy with other changes. Nothing was changed.
    .mend = Wait a second and send the same request again.
database-crowded = More are asking of the collection than it can answer at once. Nothing was changed.
    .mend = Wait a few seconds and send the same request again.
database-away = The collection's database can't be reached. Nothing that was not answered for is certain.
    .mend = Wait a moment and send the same request with the same key again; it is never done twice.
