"""A trigger by which PostgreSQL itself keeps the audit trail as it was written.

What may change: a fishery or a person that is taken out leaves a null, and a guest who is forgotten leaves no
name, which only `beats.audit.forgetting` opens, for the rest of its own transaction. SQLite has no setting of a
transaction to ask, so there the code alone keeps to it.
"""

from django.db import migrations

WORDS = "a row of the audit trail is never changed or taken out"
KEPT = [
    f"""CREATE FUNCTION beats_audit_kept() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN
          IF TG_OP = 'DELETE'
             OR (NEW.id, NEW.at, NEW.verb, NEW.subject) IS DISTINCT FROM (OLD.id, OLD.at, OLD.verb, OLD.subject)
             OR (NEW.fishery_id IS DISTINCT FROM OLD.fishery_id AND NEW.fishery_id IS NOT NULL)
             OR (NEW.by_id IS DISTINCT FROM OLD.by_id AND NEW.by_id IS NOT NULL)
             OR ((NEW.before, NEW.after) IS DISTINCT FROM (OLD.before, OLD.after)
                 AND current_setting('rodtally.forgetting', true) IS DISTINCT FROM 'on')
          THEN RAISE EXCEPTION '{WORDS}' USING ERRCODE = '23514';
          END IF;
          RETURN NEW;
        END $$""",
    """CREATE TRIGGER audit_kept BEFORE UPDATE OR DELETE ON beats_auditentry
        FOR EACH ROW EXECUTE FUNCTION beats_audit_kept()""",
]
UNDO = ["DROP TRIGGER IF EXISTS audit_kept ON beats_auditentry", "DROP FUNCTION IF EXISTS beats_audit_kept()"]


def _on_postgresql(statements):
    def run(apps, schema_editor):
        if schema_editor.connection.vendor == "postgresql":
            for statement in statements:
                schema_editor.execute(statement, params=None)

    return run


class Migration(migrations.Migration):
    dependencies = [("beats", "0007_sign_in_by_code")]
    operations = [migrations.RunPython(_on_postgresql(KEPT), _on_postgresql(UNDO))]
