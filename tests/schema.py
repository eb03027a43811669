"""The tables, columns, indexes and rules of a database, as it tells of them itself."""

# Made by the library's migrations and never used, since our own tokens take its place; and tables
# whose keys Django's migrations make longer than its models do.
OTHERWISE = {"knox_authtoken", "auth_group_permissions", "auth_user_groups"}
OTHERWISE |= {"auth_user_user_permissions"}
STATEMENTS = {
    "sqlite": """
        SELECT tables.name, columns.name, columns.type, columns."notnull", columns.pk
        FROM sqlite_master tables, pragma_table_info(tables.name) columns
        UNION SELECT tbl_name, name, sql, 0, 0 FROM sqlite_master WHERE type = 'index'""",
    "postgresql": """
        SELECT table_name, column_name, data_type, is_nullable, identity_generation
        FROM information_schema.columns WHERE table_schema = 'public'
        UNION SELECT tablename, indexname, indexdef, '', '' FROM pg_indexes
        WHERE schemaname = 'public'
        UNION SELECT conrelid::regclass::text, conname, pg_get_constraintdef(oid), '', ''
        FROM pg_constraint WHERE connamespace = 'public'::regnamespace""",
}


def schema_of(cursor, vendor):
    """Return it as a set of rows."""
    cursor.execute(STATEMENTS[vendor])
    return {row for row in cursor.fetchall() if row[0] not in OTHERWISE}
