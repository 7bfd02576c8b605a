"""One window for all pictures: none shows anything of another."""

import threading

import numpy as np

from ohmscape.viz.canvas.boxes import Box
from ohmscape.viz.canvas.sheet import Sheet


def page(size, colour):
    sheet = Sheet(size)
    sheet.area(np.array([[7.0, 9.0], [61.0, 14.0], [37.0, 66.0]]), colour=colour)
    image = np.zeros((5, 8, 3), dtype=np.uint8)
    image[0, 0], image[4, 7] = (255, 0, 0), (0, 0, 255)
    sheet.image(image, box=Box(3, 70, 11, 75))
    sheet.text((20, 30), "Ω", size=17)
    return sheet


def test_a_picture_is_the_same_whatever_was_drawn_before_it():
    first = page((80, 80), (0.2, 0.6, 0.4)).pixels()
    larger = page((130, 90), (0.9, 0.1, 0.3)).pixels()
    np.testing.assert_array_equal(page((80, 80), (0.2, 0.6, 0.4)).pixels(), first)
    assert larger.shape == (90, 130, 3)
    assert (larger[:, 80:] == 255).all()
    # Inside, the colour asked for; an image stands as it was given, its first row on top.
    assert first[80 - 20, 30].tolist() == [51, 153, 102]
    assert first[80 - 75, 3].tolist() == [255, 0, 0]
    assert first[80 - 71, 10].tolist() == [0, 0, 255]


def test_pictures_of_several_threads_are_the_same():
    found = []

    def draw():
        found.append(page((80, 80), (0.2, 0.6, 0.4)).pixels())

    threads = [threading.Thread(target=draw) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    draw()
    for other in found[1:]:
        np.testing.assert_array_equal(other, found[0])
