"""Published grade tables."""

#: Rust grades by share of the area, in per cent: (above, to and including, grade).
#: Source: ASTM D610-08(2012), Table 1.
D610: tuple[tuple[float, float, int], ...] = (
    (0.0, 0.01, 10),
    (0.01, 0.03, 9),
    (0.03, 0.1, 8),
    (0.1, 0.3, 7),
    (0.3, 1.0, 6),
    (1.0, 3.0, 5),
    (3.0, 10.0, 4),
    (10.0, 16.0, 3),
    (16.0, 33.0, 2),
    (33.0, 50.0, 1),
    (50.0, 100.0, 0),
)

#: Grey scale for change in colour: grade, CIELAB difference of its pair, tolerance.
#: Source: ISO 105-A02 / EN 20105-A02:1994, 2.4 (grade 5 from memory, the others seen in print).
GREY_SCALE: tuple[tuple[float, float, float], ...] = (
    (5.0, 0.0, 0.2),
    (4.5, 0.8, 0.2),
    (4.0, 1.7, 0.3),
    (3.5, 2.5, 0.35),
    (3.0, 3.4, 0.4),
    (2.5, 4.8, 0.5),
    (2.0, 6.8, 0.6),
    (1.5, 9.6, 0.7),
    (1.0, 13.6, 1.0),
)

#: ISO 105-A05 (from memory): the continuous grade at these differences is a whole grade.
A05_WHOLE: tuple[tuple[float, float], ...] = ((0.0, 5.0), (1.7, 4.0), (3.4, 3.0), (6.8, 2.0), (13.6, 1.0))
