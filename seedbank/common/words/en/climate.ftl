# The garden's climate, and a kind's year in it (seedbank.climate).

season-span = { DAY_OF_YEAR($from_day) } to { DAY_OF_YEAR($to_day) }
all-year = all the year round
season-method = { $method ->
        [open] In the open
        [fleece] Under fleece
        [frame] In a frame
        [tunnel] In a tunnel
       *[indoors] Indoors, to plant out
    }
sow-in = { season-method }: { $windows }{ $quick_only ->
        [yes] , quick varieties only
       *[no] { "" }
    }.
sow-not = { season-method }: { $why ->
        [too-cold] too cold here
        [too-short] the summer is too short here
       *[not-done] not done, it is sown where it stays
    }.
window-stands = { $state ->
        [open] Open now{ $day ->
            [unknown] , all the year round
           *[other] , until { DAY($day) }
        }.
        [opens] Opens on { DAY($day) }.
        [over] Over this year; opens again on { DAY($day) }.
       *[never] There is no time for it here.
    }
season-where = { $method ->
        [open] in the open
        [fleece] under fleece
        [frame] in a frame
        [tunnel] in a tunnel
       *[indoors] indoors
    }
season-instead = { $instead ->
        [none] { "" }
        [open] : in the open
        [fleece] : under fleece
        [frame] : in a frame
        [tunnel] : in a tunnel
       *[indoors] : indoors, to plant out,
    }
out-of-season = { $state ->
        [opens] Too early { season-where }
        [over] Too late { season-where }
       *[never] There is no time for it { season-where } here
    }{ season-instead }{ $instead ->
        [none] { "" }
       *[other] { $until ->
            [unknown] { " " }now
           *[day] { " " }until { DAY($until) }
        }
    }{ $opens_on ->
        [unknown] .
       *[day] ; next from { DAY($opens_on) }.
    }
up-in = { $days ->
        [unknown] Sown on { DAY($on) }, it would not come up.
       *[other] Sown on { DAY($on) }: half is up in about { COUNT($days) } days, most in { COUNT($most_days) }{ $p_up ->
            [unknown] { "" }
           *[other] ; of good seed about { CHANCE($p_up) } comes
        }.
    }
season-roughly = { $known ->
        [frost-dates] Only frost dates are known of this garden: days are moved with the last frost. Twelve monthly temperatures tell more.
        [hemisphere] Only the half of the world is known of this garden: flowering is told as in a cool maritime garden. Twelve monthly temperatures tell more.
       *[nothing] No climate is known of this garden: tell its monthly temperatures, or at least its frost dates, and days are told.
    }
sow-in-weeks = Sow in the open from { COUNT($first_weeks) } weeks { $first } to { COUNT($last_weeks) } weeks { $last } the last frost.
sow-by-frost = Sow in the open from about { DAY_OF_YEAR($from_day) } to { DAY_OF_YEAR($to_day) }: { COUNT($first_weeks) } weeks { $first } to { COUNT($last_weeks) } weeks { $last } the last frost.
flowers-here = Flowers { $days }{ $next_year ->
        [yes] { " " }of the year after it is sown
       *[no] { "" }
    }.
flowers-not-here = It does not come to flower in the open here.
ripe-here = Seed is ripe { $days }.
ripe-not-here = Seed does not ripen in the open here; a tunnel, or plants lifted and hung, may do.
how-dry = { $what ->
        [drying-air] Dry it in air of { $value }.
        [long-store] For decades: { $value }.
        [max-drying-temp-c] Dry it no warmer than { $value } °C.
        [storage-moisture-pct] To be kept long it holds { $value } % of moisture.
        [sealed] In a sealed packet it holds { $value } % of moisture at most.
       *[other] { $value }
    }
ripe-when = { $sign ->
        [unknown] Ripe
       *[other] { $sign }
    }{ $days ->
        [unknown] { "" }
       *[other] , { $days } days after flowering
    }{ $moisture_pct ->
        [unknown] { "" }
       *[other] , seed about { $moisture_pct } % moist
    }

climate-known = { $known ->
        [months] Days are told from monthly temperatures.
        [frost-dates] Only frost dates are known: times are told from the last frost.
        [hemisphere] Only the half of the world is known: flowering is moved with it.
       *[nothing] Nothing is known of this climate: times are told in weeks from the last frost.
    }
frost-reckoned = Frost is taken to end about { DAY_OF_YEAR($last_frost_day) } and to begin about { DAY_OF_YEAR($first_frost_day) }, as the days pass 10 °C; tell your own dates if you know them.
frost-never = No day is under 10 °C on average: the garden is taken to be without frost.
climate-of-garden = This site has no climate of its own told; the garden's holds.
months-not-read = { COUNT($months) } months have fewer than { COUNT($enough_days) } days of readings, the first is month { COUNT($value) }, and nobody told their means.
    .mend = Send more readings, or tell the twelve monthly means first: months that were read go before them.
no-readings = There is no reading in it.
    .mend = Send a heading with date and mean_c, or min_c and max_c, and a line a day.
reading-misread = Line { COUNT($line) } can't be read.
    .mend = Write the day as 2026-04-01 and degrees as numbers with a point.
months-misread = These are not twelve temperatures.
    .mend = Write January first, in degrees Celsius, with blanks between: 4.5 4.7 6.6 …
