"""The tables and rules of an office on a server: made, and made whole again where a rule was weakened."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files

from gradecheck.office.connection import Link

ROLES = ("gradecheck_owner", "gradecheck_laptop", "gradecheck_office")
"""The owner of everything, whom nobody can log in as; what laptops may; what the office may."""
_ONE_AT_A_TIME = 0x6772_6463
_RULES = """
with relation as (select * from pg_class where relnamespace = to_regnamespace('gradecheck'))
select 'trigger ' || tgname || ' on ' || relname, concat_ws(' ', tgenabled, pg_get_triggerdef(t.oid))
    from pg_trigger t join relation r on r.oid = tgrelid where not tgisinternal
union all select 'policy ' || polname || ' on ' || relname, concat_ws(' ', polcmd, polpermissive, polroles::text,
    pg_get_expr(polqual, polrelid), pg_get_expr(polwithcheck, polrelid))
    from pg_policy join relation r on r.oid = polrelid
union all select 'row security of ' || relname, concat_ws(' ', relrowsecurity, relforcerowsecurity)
    from relation where relkind in ('r', 'p')
union all select 'table ' || relname, concat_ws(' ', relowner::regrole, relispartition)
    from relation where relkind in ('r', 'p')
union all select 'function ' || proname, concat_ws(' ', prosrc, prosecdef, proconfig::text, proowner::regrole,
    (select string_agg(concat_ws(' ', grantee::regrole, privilege_type), ',' order by grantee, privilege_type)
        from aclexplode(proacl) where grantee <> proowner))
    from pg_proc where pronamespace = to_regnamespace('gradecheck')
union all select 'rights of ' || case grantee when 0 then 'everybody' else grantee::regrole::text end || ' on '
    || relname, string_agg(privilege_type, ',' order by privilege_type)
    from relation, aclexplode(relacl) where grantee <> relowner group by grantee, relname
union all select 'rights of ' || case grantee when 0 then 'everybody' else grantee::regrole::text end || ' on '
    || relname || '.' || attname, string_agg(privilege_type, ',' order by privilege_type)
    from relation r join pg_attribute a on a.attrelid = r.oid, aclexplode(attacl) where grantee <> relowner
    group by grantee, relname, attname
union all select 'log-in of ' || rolname, concat_ws(' ', rolcanlogin, rolsuper, rolcreaterole, rolbypassrls)
    from pg_roles where rolname = any (%s)
union all select 'member ' || rolname || ' of gradecheck_owner', ''
    from pg_roles where rolcanlogin and not rolsuper and to_regrole('gradecheck_owner') is not null
    and pg_has_role(oid, 'gradecheck_owner', 'usage')
"""


@dataclass(frozen=True, slots=True)
class Made:
    """What came of it: whether it is new, and the rules that were not as they are meant to be."""

    new: bool
    weakened: tuple[str, ...]


def init(link: Link) -> Made:
    """Makes all that is missing and every rule anew, all or nothing. Raises what a link raises."""
    with link.together():
        link.rows("select pg_advisory_xact_lock(%s)", (_ONE_AT_A_TIME,))
        new = link.rows("select to_regnamespace('gradecheck') is null")[0][0]
        before = _rules(link)
        _make(link)
        after = _rules(link)
    changed = {name for name in before.keys() | after.keys() if before.get(name) != after.get(name)}
    return Made(new, () if new else tuple(sorted(changed)))


def _rules(link: Link) -> dict[str, str]:
    return dict(link.rows(_RULES, (list(ROLES),)))


def _make(link: Link) -> None:
    for role in ROLES:
        if link.rows("select from pg_roles where rolname = %s", (role,)):
            if link.rows("select from pg_roles where rolname = %s and rolcanlogin", (role,)):
                link.rows(f"alter role {role} nologin")
        else:
            link.rows(f"create role {role} nologin")
    administrator = link.rows("select rolsuper from pg_roles where rolname = session_user")[0][0]
    if not administrator:
        how = " with set true, inherit true" if link.version >= 160000 else ""
        link.rows(f"grant gradecheck_owner to session_user{how}")
    if not link.rows("select pg_has_role('gradecheck_office', 'gradecheck_laptop', 'usage')")[0][0]:
        link.rows("grant gradecheck_laptop to gradecheck_office")
    link.rows("create schema if not exists gradecheck authorization gradecheck_owner")
    link.rows("set local role gradecheck_owner")
    link.rows(files("gradecheck.office").joinpath("schema.sql").read_text(encoding="utf-8"))
    link.rows("reset role")
    for (member,) in link.rows(
        "select quote_ident(rolname) from pg_roles where rolcanlogin and not rolsuper "
        "and pg_has_role(oid, 'gradecheck_owner', 'usage')"
    ):
        link.rows(f"revoke gradecheck_owner from {member}")
    if not administrator:
        link.rows("grant gradecheck_office to session_user")
