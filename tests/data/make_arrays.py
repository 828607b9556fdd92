"""Arrays as numpy writes them, for the tests of reading and writing `.npy` (made with numpy 2.4.6)."""

import numpy as np

points = np.array([[0.01, 0.005, -0.002], [0.0, -0.0625, 0.03125], [0.1, -1 / 3, 1e-20], [-0.04, 0.02, 0.0]])
np.save("points-numpy.npy", points)
# The transpose of three rows lies column by column.
np.save("points-numpy-columns.npy", np.array([points[:, 0], points[:, 1], points[:, 2]]).T)
np.save("points-numpy-big-endian-single.npy", points.astype(">f4"))
np.save("points-numpy-whole.npy", np.ones((2, 3), dtype=np.int64))
np.save("rows-numpy.npy", np.array([[0.1, -1 / 3, 1e-20], [6.283185307179586e-7, -0.0, 1.0]]))
