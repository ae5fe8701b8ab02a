# What the room upkeep says.

collection-exists = There is a collection in { $where } already.
    .mend = Restore to another place, or with --replace: what is there is backed up first.
open-elsewhere = { $value } is open elsewhere ({ $why }).
    .mend = Stop the seedbank that serves it, then restore again.
leftover-of-collection = { $left } is left over from a collection that is gone.
    .mend = Move it to another folder, or restore to another name.

backup-of-no-collection = There is no collection in it.
    .mend = Name a collection.
backup-not-writable = The backup can't be written to { $file }: { $refused }.
    .mend = Choose a place that has room and can be written to; no backup is written over.

no-sound-backup = { $value } is no sound backup. { $faults }
    .mend = Choose another backup; this one was left as it is, and so was the collection.
no-such-backup = Can't use the database '{ $value }'.
    .mend = Name a backup that is there.

no-such-folder = Can't use the database '{ $value }'.
    .mend = Make the folder { $folder } first, or name another.
no-room-for-copy = Can't use the database '{ $value }'.
    .mend = Make room for a copy of it beside it, and try again; it was left as it is ({ $why }).
copy-damaged = SQLite finds it damaged: { $sound }
copy-lacks-table = the table { $table } is on one side only
copy-table-unlike = { $table }: { COUNT($there) } rows there, { COUNT($here) } here, unlike
