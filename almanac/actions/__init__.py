"""The use cases, one function each, that command line and page call: look, record, refresh.

What is said of none of them again: `folder` is the nursery's, `now` the real time, aware, `as_of` the day to stand for
today, `patience_s` how long others are waited for [s].
"""
