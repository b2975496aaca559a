using System.Text.Json;
using System.Text.Json.Serialization;

namespace CashEvents.Store.Backups;

/// <summary>
/// A line of a backup file, which is JSON lines in UTF-8, compressed by gzip (RFC 1952). docs/backups.md tells the form
/// so that it can be read without this program.
/// </summary>
[JsonPolymorphic(TypeDiscriminatorPropertyName = "record")]
[JsonDerivedType(typeof(BackupBegins), "backup")]
[JsonDerivedType(typeof(BackedUpBook), "book")]
[JsonDerivedType(typeof(BackedUpLine), "line")]
[JsonDerivedType(typeof(BackedUpAnswer), "answer")]
[JsonDerivedType(typeof(BackedUpOrigin), "pageOrigin")]
[JsonDerivedType(typeof(BackedUpRow), "row")]
[JsonDerivedType(typeof(BackupEnds), "end")]
internal abstract record BackupRecord
{
    public static JsonSerializerOptions Options { get; } = new(JsonSerializerDefaults.Web)
    {
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        AllowOutOfOrderMetadataProperties = true,
        // What a damaged file lacks is told as such, and nothing stands in for it.
        RespectRequiredConstructorParameters = true,
        RespectNullableAnnotations = true,
    };
}

/// <summary>The first one.</summary>
/// <param name="Version">Of the form; raised when an older program could not read it.</param>
/// <param name="MadeAt">When (UTC).</param>
/// <param name="Program">The program's version.</param>
internal sealed record BackupBegins(int Version, DateTimeOffset MadeAt, string Program) : BackupRecord
{
    public const int Newest = 2;
}

/// <summary>Begins a household's book: its lines follow, in order.</summary>
/// <param name="Household">Its id.</param>
/// <param name="Lines">How many lines it has.</param>
internal sealed record BackedUpBook(string Household, long Lines) : BackupRecord;

/// <summary>A line of the book; docs/events.md tells what its hash covers.</summary>
internal sealed record BackedUpLine(long Line, string EntryId, string Kind, DateTimeOffset RecordedAt, string By,
    JsonElement Content, string? Hash = null) : BackupRecord;

/// <summary>An answer that a repeated request would get again, so that it is still written once.</summary>
/// <param name="Key">The idempotency key.</param>
/// <param name="Fingerprint">Of what was sent under it.</param>
/// <param name="Entry">What was answered.</param>
internal sealed record BackedUpAnswer(string Key, byte[] Fingerprint, JsonElement Entry) : BackupRecord;

/// <summary>A web page that may use the book from a browser.</summary>
internal sealed record BackedUpOrigin(string Origin) : BackupRecord;

/// <summary>A row of a table that is not made from the lines, such as a browser that is signed in.</summary>
/// <param name="Table">Which of <see cref="BookTables.Beside"/>.</param>
/// <param name="Values">Its columns, as PostgreSQL's <c>to_jsonb</c> writes them.</param>
internal sealed record BackedUpRow(string Table, JsonElement Values) : BackupRecord;

/// <summary>The last one: without it the file was broken off.</summary>
/// <param name="Books">How many books there are before it.</param>
/// <param name="Lines">How many lines.</param>
/// <param name="Sha256">Of all bytes before this record, not compressed; in hexadecimal.</param>
internal sealed record BackupEnds(int Books, long Lines, string Sha256) : BackupRecord;
