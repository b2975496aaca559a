using System.Runtime.CompilerServices;

[assembly: InternalsVisibleTo("CashEvents.Api.Tests")]
