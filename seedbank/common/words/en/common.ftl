# Words every room uses.

chance = { $edge ->
        [low] under 1 %
        [high] over 99 %
       *[none] { $pct } %
    }
chance-about = { $edge ->
        [low] under 1 %
        [high] over 99 %
       *[none] about { $pct } %
    }
days = { $days ->
        [one] 1 day
       *[other] { COUNT($days) } days
    }
