"""Several people at the same moment, each on a database connection of their own."""

import threading

from django.db import connection


def together(*actions):
    """Run the actions at once, each in a thread; returns what each gave or raised, in order."""
    start = threading.Barrier(len(actions))
    results = [None] * len(actions)

    def run(place, action):
        try:
            start.wait()
            results[place] = action()
        except Exception as error:  # handed to the test, which says what it expected
            results[place] = error
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(actions)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return results
