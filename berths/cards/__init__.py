"""The tie-up card: what it says (`card`), how that is said (`words`), how it is set on paper (`layout`, `pdf`) and
on a phone (`page`), and what of it the records know (`facts`).
"""
