"""Backups of the whole database as one file, and back into any database.

A backup holds every table's rows as text and the migrations that made the tables, so that one made
on SQLite comes back into PostgreSQL and the other way round, and one made by an older Pourwright is
brought up to today as it comes back. Pictures and papers lie in the database, so they are in it.
"""
