# Whether a test is worth its seed (science.testing.test_plan).

test-decides-reliance = A test helps to decide whether this lot can be relied on for another season.
worth-testing = Test { $seeds ->
        [one] one seed
       *[other] { COUNT($seeds) } seeds
    }: it is expected to save more than its seed is worth, and has a chance of { CHANCE($changes) } to change what you do.
right-now = { $action ->
        [rely] Relying on it for another season
       *[renew] Not relying on it
    }, what you would do now, is right with probability { CHANCE($right_now) }
sure-enough = { right-now }.
surer = { right-now }; after the test, { CHANCE($right_after) }.
nothing-to-learn = Don't spend seed: no result would change what you do.
no-seed-to-spare = Don't spend seed: none can be spared above the reserve for a test. When the lot is sown, sow all of it.
not-worth-its-seed = Don't spend seed on a test: the seed of even the best ({ COUNT($seeds) } seeds) is worth more than it is expected to save.
