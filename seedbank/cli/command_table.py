"""Every command of ``seedbank``, by noun and verb: where it is written, and its line of help."""

from collections.abc import Mapping

from seedbank.cli.commands import Aliases, Command, Commands, Noun


def _in(module: str, lines: Mapping[str, str], *, writes: bool = False) -> dict[str, Command]:
    """Commands of one module by their names, each the function so called."""
    return {
        name: Command(
            f"seedbank.{module}",
            line,
            "show_list" if name == "list" else name.replace("-", "_"),
            writes,
        )
        for name, line in lines.items()
    }


def _run(module: str, line: str, *, writes: bool = False) -> Command:
    """A command alone in its module."""
    return Command(f"seedbank.{module}", line, "run", writes)


_LOT = {
    "list": _run(
        "overview.commands.shelf",
        "List packets, sought, filtered and sorted, with how alive they are and what to do.",
    ),
    **_in(
        "lots.commands.find",
        {
            "find": "Find lots by words, empty ones too, with how alive they are.",
            "show": "Show lots: what they are, how much is left, how alive it is and what to do.",
        },
    ),
    **_in("lots.commands.stock", {"history": "List all that came into a lot and left it."}),
    "label": _run(
        "labels.commands.label",
        "Write labels of lots as a PDF file, each with its code to read and to scan.",
    ),
    "descriptors": _run(
        "interchange.descriptors.command",
        "Tell lots in the Multi-Crop Passport Descriptors V.2.1, for a genebank or another keeper.",
    ),
    **_in(
        "lots.commands.stock",
        {
            "add": "Take a packet in, its variety and place too if they are new.",
            "count": "Take stock: say what packets really hold, all of them or none.",
            "change": "Change what is known of a lot; its amount is changed by a stock-take.",
        },
        writes=True,
    ),
    **_in(
        "lots.commands.work",
        {
            "move": "Put lots in another place.",
            "give": "Give seed away: so much of each lot, or all of it.",
            "discard": "Let seed go: so much of each lot, or all of it.",
            "keepers": "Say how many others keep the varieties of lots.",
            "undo": "Undo work on lots by its number, or one movement of a lot.",
        },
        writes=True,
    ),
    "mix": _run(
        "lots.commands.mix",
        "Mix seed of several lots into a lot that remembers what it is made of.",
        writes=True,
    ),
    "doubts": _run(
        "lots.commands.entered",
        "List lots that an import may have entered as empty or as come that day; answer for them.",
        writes=True,
    ),
}
_TEST = {
    "advise": _run(
        "verdicts.command",
        "Choose which lots to test: the few whose answers save most over all lots they teach.",
    ),
    **_in(
        "germination.commands.run_test",
        {
            "list": "List germination tests, the earliest first.",
            "show": "Show a germination test, and what it says so far.",
        },
    ),
    **_in(
        "germination.commands.run_test",
        {
            "start": "Start a germination test of each lot, or of none: its seed leaves the lot.",
            "count": "Record what was judged on a day, or put that day's count right with --why.",
            "finish": "End a test and learn what it says of the lot.",
            "undo": "Take back a test recorded by mistake; its seed returns to the lot.",
        },
        writes=True,
    ),
    "record": _run(
        "germination.commands.record_test",
        "Record a germination test and learn what it says of the lot.",
        writes=True,
    ),
    "fault": _run(
        "germination.commands.mark_fault",
        "Say what went wrong with a germination test, or that nothing did.",
        writes=True,
    ),
}
_SOWING = {
    "advise": _run("sowing.commands.sow", "Ask how thickly to sow a lot for the plants wanted."),
    **_in(
        "sowing.commands.record",
        {
            "list": "List sowings, the earliest first.",
            "show": "Show a sowing and what came up of it.",
        },
    ),
    **_in(
        "sowing.commands.record",
        {
            "record": "Record seed sown, of one lot or several, all of it or nothing.",
            "emerged": "Record how many sown seeds have come up so far.",
            "lost": "Record seeds or seedlings of a sowing lost to one cause.",
            "finish": "Say that no more seedlings of a sowing are expected.",
            "undo": "Take back a sowing recorded by mistake; its seed returns to the lot.",
        },
        writes=True,
    ),
}
_CROP = {
    "advise": _run(
        "season.commands.save", "List the rare varieties to grow for seed next, the rarest first."
    ),
    **_in(
        "saving.commands.crop",
        {
            "list": "List seed crops by the year they flower.",
            "show": "Show a seed crop.",
            "check": "Tell what may cross with a seed crop, and what would mend it.",
        },
    ),
    **_in(
        "saving.commands.crop",
        {
            "begin": "Begin a seed crop of a lot.",
            "sow": "Sow a seed crop; seeds given leave its lot as a sowing.",
            "change": "Change what is known of a seed crop: parents started, rogued, kept, and "
            "the rest.",
            "harvest": "Harvest a seed crop: its seed becomes a lot.",
            "fail": "Say that a seed crop gave no seed, and why.",
            "undo": "Take out a seed crop recorded by mistake; its sowing stays.",
        },
        writes=True,
    ),
}
_PLAN = {
    **_in(
        "season.commands.plan",
        {"show": "Show the plan kept last, and what was recorded of it since."},
    ),
    "orders": _run(
        "plan.commands.orders",
        "List what to order for the rows of this season and the next, with a margin.",
    ),
    "supplies": _run(
        "plan.commands.supplies",
        "List what to sow this year, what to order, and what seed may be given away.",
    ),
    "make": _run(
        "season.commands.plan",
        "Plan which varieties to save seed of, year by year, so that least is likely to be lost.",
        writes=True,
    ),
}
_LIST = _in(
    "season.commands.lists",
    {
        "week": "List this week's jobs, at most five, and why.",
        "to-do": "List all there is to do, the most pressing first.",
        "dates": "List what falls on a day, up to a year and a half ahead.",
        "season": "List what to test, save, sow or get this season, on screen or as PDF.",
    },
)
_PLACE = {
    **_in(
        "lots.commands.place", {"list": "List the places seed is kept, and what is known of them."}
    ),
    **_in(
        "lots.commands.place",
        {
            "add": "Add a place seed is kept, with what is known of it.",
            "change": "Change what is known of a place.",
        },
        writes=True,
    ),
}
_SITE = {
    **_in("saving.commands.site", {"list": "List the sites that plants flower on."}),
    **_in("saving.commands.site", {"add": "Add a site that plants flower on."}, writes=True),
}
_KIND = {
    **_in(
        "kinds.commands.kinds_listed",
        {
            "list": "List the kinds of plant that are known.",
            "show": "Show what is known of a kind, each fact with its source.",
        },
    ),
    "season": _run(
        "season.commands.kind_year",
        "Tell when to sow a kind here, how soon it is up, when it flowers and its seed is ripe.",
    ),
    "add": _run(
        "kinds.commands.kind",
        "Add a kind of plant of your own: its name and what you know of it.",
        writes=True,
    ),
}
_VARIETY = {
    **_in(
        "kinds.commands.varieties",
        {
            "list": "List varieties by name.",
            "show": "Show a variety with its lots, what is planned of it and what crosses with it.",
        },
    ),
    **_in(
        "kinds.commands.varieties",
        {"add": "Add a variety that is kept.", "change": "Change what is known of a variety."},
        writes=True,
    ),
    "keepers": _run(
        "kinds.commands.rarity",
        "Say how many others keep varieties; list those of which nobody has said.",
        writes=True,
    ),
}
_CLIMATE = {
    **_in(
        "season.commands.climate",
        {"show": "Show what is known of the climate of the garden or a site."},
    ),
    "state": _run(
        "season.commands.climate",
        "Tell the climate of the garden or a site, or show what is known of it.",
        writes=True,
    ),
}
_TOKEN = {
    **_in("access.command", {"list": "List the tokens ever made."}),
    **_in(
        "access.command",
        {
            "add": "Make a token and print it, this once only.",
            "revoke": "Let the holder of a token in no longer, from this moment.",
        },
        writes=True,
    ),
}

COMMANDS: Commands = {
    "lot": Noun("Packets of seed: what they are, where, how many, how alive.", _LOT),
    "test": Noun("Germination tests.", _TEST, before="record"),
    "sowing": Noun("Sowings: how thickly, and what came up.", _SOWING),
    "crop": Noun("Seed crops: plants grown for their seed.", _CROP),
    "plan": Noun("The saving plan over years.", _PLAN, before="make"),
    "list": Noun("What is to be done, and the season's lists.", _LIST),
    "place": Noun("Places seed is kept.", _PLACE),
    "site": Noun("Ground that plants flower on.", _SITE),
    "kind": Noun("Kinds of plant, and what is known of them.", _KIND, before="add"),
    "variety": Noun("Varieties, and who else keeps them.", _VARIETY),
    "climate": Noun("The climate of the garden or a site.", _CLIMATE, before="state"),
    "token": Noun("Who else may come in.", _TOKEN),
    "demo": _run(
        "server.demo_command",
        "Load the demonstration collection, say what needs doing this year, and serve it.",
        writes=True,
    ),
    "serve": _run("server.serve_command", "Serve your collection over HTTP.", writes=True),
    "import": _run(
        "interchange.folder.commands.import_files",
        "Take in a collection written down in CSV files, all of it or nothing.",
        writes=True,
    ),
    "export": _run(
        "interchange.folder.commands.export",
        "Write everything in the collection into one zip archive of CSV files, or a workbook.",
    ),
    "backup": _run(
        "upkeep.commands.backup",
        "Back the collection up into one file, also while it is served, and prove the backup.",
    ),
    "restore": _run(
        "upkeep.commands.restore",
        "Make the collection what a backup holds; the service must be stopped meanwhile.",
        writes=True,
    ),
    "check": _run(
        "upkeep.commands.check",
        "Prove the ledger, the references and every rule; exit code 1 if something is wrong.",
    ),
}

ALIASES: Aliases = {
    "batch": _run(
        "overview.commands.batch",
        "Move, give, throw out or test many lots, or say who else keeps them: all or none.",
        writes=True,
    ),
    "descriptors": "lot descriptors",
    "entered": "lot doubts",
    "kind-year": "kind season",
    "mix": "lot mix",
    "rarity": "variety keepers",
    "save": "crop advise",
    "shelf": "lot list",
    "sow": "sowing advise",
    "supplies": "plan supplies",
    "test-fault": "test fault",
    "towels": "test advise",
}
"""What commands were called before; they are still typed so, until 1.0."""
