"""The short press with nothing going wrong, or with what a test lets go wrong."""
import os

SOURCE = os.environ["SOURCE"]
SHORT_PRESS = os.path.join(SOURCE, "tests", "live", "short_press.toml")


def quiet_press(folder, name="quiet.toml", fault="", demand=False):
    """A file in the folder: the press without its own faults, and with its demand if asked for."""
    with open(SHORT_PRESS, encoding="utf-8") as file:
        text = file.read()
    quiet = text[:text.index("[[fault]]")].replace("../../scenarios", os.path.join(SOURCE, "scenarios"))
    path = os.path.join(folder, name)
    with open(path, "w", encoding="utf-8") as file:
        file.write(quiet + fault + (text[text.index("[[demand]]"):] if demand else ""))
    return path
