"""What the live tests share: whether a computer was on time, how to give it more time, and how a test ends that it could
not be judged on.

A test that could not be judged has neither passed nor failed: it is skipped, and says how late the computer was."""
import sys

SKIPPED = 77  # SKIP_RETURN_CODE in tests/cmake/tests.cmake
LATE_MS = 3.0  # a computer that keeps this is on time: what differs then, differs


def slower(times):
    """What to type for a scenario of which every duration is so many times as long."""
    return [] if times == 1 else ["--times-slower", str(times)]


def latest_ms(result, times=1):
    """How late the latest timer was, in the scenario's own time."""
    return result["lateness_ms"]["max"] / times


def on_time(result, times=1):
    return latest_ms(result, times) < LATE_MS


def skip(figure):
    print(f"skipped, this computer is too busy: {figure}")
    sys.exit(SKIPPED)
