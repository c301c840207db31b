"""What stands between `python3 manage.py ...` on a bare machine and Django: the standard library only.

Every failure that can be foreseen here ends in one plain sentence and the command that mends it.
"""
