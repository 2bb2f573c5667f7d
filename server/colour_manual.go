package main

const colourManual = `NAME
    evenwhite colour - answer a question about the colour of light

SYNOPSIS
    evenwhite colour [-json] cct [-uv | -uvprime] X Y
    evenwhite colour [-json] mired KELVIN1 KELVIN2

DESCRIPTION
    cct X Y
        The correlated colour temperature, Duv (+ greener, - more magenta) and
        mired of a chromaticity: x y, with -uv the u v of 1960, with -uvprime the
        u' v' of 1976. From 1000 to 100000 K and at most 0.05 in Duv away from the
        black body; a light outside is coloured and has no colour temperature.

    mired KELVIN1 KELVIN2
        The shift from a white of KELVIN1 to a light of KELVIN2: + shows warmer in
        the picture, - cooler.

    The text shows no finer digits than the typed ones carry, each taken to be good
    to half a unit of its last digit: 0.3127 says less than 0.31270. Options may
    stand before or after the words; a word that begins with - and a digit is a
    number.

OPTIONS
    -json      print one JSON object, unrounded, with the units in the names
    -uv        cct: the two numbers are u v (CIE 1960)
    -uvprime   cct: the two numbers are u' v' (CIE 1976)

EXIT STATUS
    0  done
    1  the values have no answer
    2  the command line was not understood

EXAMPLES
    evenwhite colour cct 0.3127 0.3290
    evenwhite colour cct -uvprime 0.1978 0.4683
    evenwhite colour mired 3200 5600 -json
`
