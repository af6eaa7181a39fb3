"""What PostgreSQL is given so that it keeps shops apart: two tables, five functions, one count."""

from __future__ import annotations

__all__ = ["BEGIN", "COUNTS", "END"]

#: Rows counted by table and shop, where rows may also go.
COUNTS = "shop_counts"

#: In this order; `{schema}` is the schema of the tables.
BEGIN = (
    """CREATE TABLE shops (
        id text COLLATE "C" PRIMARY KEY,
        made_at timestamptz NOT NULL DEFAULT now(),
        whole_at timestamptz)""",
    """CREATE TABLE shop_roles (
        shop_id text COLLATE "C" NOT NULL REFERENCES shops (id),
        role text COLLATE "C" NOT NULL,
        PRIMARY KEY (shop_id, role))""",
    # runs as the owner of the tables: nobody else reads who is admitted where
    """CREATE FUNCTION this_shop() RETURNS text
        LANGUAGE sql STABLE PARALLEL SAFE SECURITY DEFINER SET search_path = {schema}, pg_temp
        AS $$ SELECT shop_id FROM shop_roles
              WHERE shop_id = current_setting('collop.shop', true) AND role = session_user $$""",
    """CREATE FUNCTION my_shops() RETURNS TABLE (id text, is_whole boolean)
        LANGUAGE sql STABLE SECURITY DEFINER SET search_path = {schema}, pg_temp
        AS $$ SELECT shops.id, shops.whole_at IS NOT NULL FROM shops
              JOIN shop_roles ON shop_id = shops.id
              WHERE role = session_user ORDER BY shops.id $$""",
    """CREATE FUNCTION is_unfinished(shop text) RETURNS boolean
        LANGUAGE sql STABLE SECURITY DEFINER SET search_path = {schema}, pg_temp
        AS $$ SELECT EXISTS (SELECT FROM shops WHERE id = shop AND whole_at IS NULL) $$""",
    # a shop whose making was broken off may be cleared away, and no other
    """CREATE FUNCTION never_edited() RETURNS trigger
        LANGUAGE plpgsql SET search_path = {schema}, pg_temp
        AS $$ BEGIN
            IF TG_OP = 'DELETE' THEN
                IF is_unfinished(OLD.shop_id) THEN RETURN OLD; END IF;
            END IF;
            RAISE EXCEPTION '% is never edited; write a further entry', TG_TABLE_NAME;
        END $$""",
    """CREATE FUNCTION next_number(of_table text, of_column text, keeps boolean) RETURNS bigint
        LANGUAGE plpgsql SET search_path = {schema}, pg_temp
        AS $$ DECLARE
            shop text := this_shop();
            highest bigint;
        BEGIN
            EXECUTE format('SELECT coalesce(max(%I), 0) FROM %I WHERE shop_id = $1',
                           of_column, of_table) INTO highest USING shop;
            IF keeps THEN RETURN highest + 1; END IF;
            INSERT INTO shop_counts AS c (shop_id, table_name, last)
                VALUES (shop, of_table, highest + 1)
                ON CONFLICT (shop_id, table_name)
                DO UPDATE SET last = greatest(c.last, highest) + 1
                RETURNING last INTO highest;
            RETURN highest;
        END $$""",
    f"""CREATE TABLE {COUNTS} (
        shop_id text COLLATE "C" NOT NULL DEFAULT this_shop(),
        table_name text COLLATE "C" NOT NULL,
        last bigint NOT NULL,
        PRIMARY KEY (shop_id, table_name))""",
)
END = (
    f"DROP TABLE {COUNTS}",
    "DROP FUNCTION next_number(text, text, boolean)",
    "DROP FUNCTION never_edited()",
    "DROP FUNCTION is_unfinished(text)",
    "DROP FUNCTION my_shops()",
    "DROP FUNCTION this_shop()",
    "DROP TABLE shop_roles",
    "DROP TABLE shops",
)
