"""ISO/ASTM 52921, orthogonal orientation notation. Second-hand: a public extract of the standard.

"a specimen which is placed so that its longest dimension is parallel to the Z axis, the second
longest dimension is parallel to the X axis, and its shortest overall dimension is parallel to the
Y axis shall be [named] as having a ZXY orientation".
"""

from barbwright.order.sizes import orientation


def test_the_standards_own_example():
    longest, second, shortest = 50.0, 20.0, 5.0
    assert orientation((second, shortest, longest))[0] == "ZXY"
